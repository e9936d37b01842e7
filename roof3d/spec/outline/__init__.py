"""Sections of the form ``outline``: walls of any shape, and the roof over each of them."""

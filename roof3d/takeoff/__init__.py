"""Quantities, each line naming what it came from."""

"""Layered details: how the joints of a roof are put together, one module a place."""

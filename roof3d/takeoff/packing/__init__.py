"""Fitting pieces into whole ones: quick ways, and bounds that no cutting goes below."""

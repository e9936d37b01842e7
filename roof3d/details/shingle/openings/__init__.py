"""Pipes through shingles and membranes, chimneys through shingles."""

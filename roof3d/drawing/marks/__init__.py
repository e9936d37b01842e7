"""Marks that find their own place on a sheet: lengths, numbers, slopes, arrows."""

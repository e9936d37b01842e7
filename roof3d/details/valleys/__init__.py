"""Valleys: open with metal, closed-cut, and between membrane and shingles."""

"""A drawing on paper as the bytes of a vector file: SVG, PDF, DXF."""

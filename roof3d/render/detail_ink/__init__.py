"""What the picture of a layered detail is made of: textures, lines, dimensions, legend, section."""

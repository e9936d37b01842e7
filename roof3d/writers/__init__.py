"""Files for other programs: each format in its own module, one table for the meshes."""

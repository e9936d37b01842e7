"""Materials and assemblies: layers and their limits as data."""

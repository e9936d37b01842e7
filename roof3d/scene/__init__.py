"""A neutral 3D scene that pictures, meshes and pages draw alike."""

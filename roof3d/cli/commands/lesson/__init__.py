"""``roof3d lesson``: the command, and the folder that it fills."""

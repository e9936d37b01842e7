"""The page served on this machine alone, made anew whenever its model changes."""

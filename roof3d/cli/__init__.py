"""The command line: the only room that prints, and the one that turns errors into messages."""

import gc

# A command lives a second: sweeping dozens of times over modules that stay anyway, the garbage
# collector would take a twentieth of it.
gc.set_threshold(400_000, 20, 20)

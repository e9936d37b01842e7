"""Files of a lesson: its handout and its data."""

"""Courses, pieces, laps and fasteners set out on each plane."""

"""Pictures of a lesson: one a step, all on one sheet, and the build as moving pictures."""

"""Commands that make a model file, or say what may stand in one."""

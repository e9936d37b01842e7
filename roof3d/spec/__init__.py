"""The model file: read, checked, and resolved into frozen values."""

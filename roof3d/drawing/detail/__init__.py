"""Section and plan of a detail, each as a sheet."""

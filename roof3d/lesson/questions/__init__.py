"""Questions about a joint, made of what its own layers, lengths and laps are."""

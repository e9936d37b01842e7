"""The cut through a detail: pieces, lengths, numbers and slopes, flat."""

"""What is inked over a roof: line styles, hatches, labels, the key, north and scale."""

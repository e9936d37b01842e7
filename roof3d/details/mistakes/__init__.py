"""Wrong builds on purpose: which there are, and how the work is spoilt for each."""

"""Files made elsewhere, read into plain values."""

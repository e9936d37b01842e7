"""Neutral 2D sheets on paper: lines, hatches, words; what every vector file prints."""

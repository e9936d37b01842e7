"""The sheet itself: paper and scales, legend and notes, title block."""

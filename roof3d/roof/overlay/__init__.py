"""What exists where sections overlap: lines, sheets, regions, edges."""

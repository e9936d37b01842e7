"""Pictures: VTK rasterises parts, everything a reader must read is drawn over it in 2D."""

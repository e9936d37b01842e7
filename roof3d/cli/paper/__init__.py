"""What is drawn on paper: to scale, as SVG, PDF or DXF."""

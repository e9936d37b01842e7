"""Details of membranes: their edges, walls, laps and corners, with the layers that there are."""

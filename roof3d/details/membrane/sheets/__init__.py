"""Where sheets of a membrane lie: on a grid, past edges, over cants and corners, at end laps."""

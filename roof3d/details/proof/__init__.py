"""The laps of a detail proved from its own pieces, and the way of the water over them."""

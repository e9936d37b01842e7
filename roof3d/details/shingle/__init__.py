"""Details of edges, walls and pitch breaks of shingle roofs; openings in a room of their own."""

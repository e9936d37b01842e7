"""One offline HTML page of a roof: its data, its meshes, its scripts, put together."""

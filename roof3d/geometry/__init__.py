"""Points, polygons, planes and planar arrangements: no word of roofs."""

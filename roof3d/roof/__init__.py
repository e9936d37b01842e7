"""Planes, edges, openings and their roles, found where sections overlap."""

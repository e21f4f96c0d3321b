"""Edges that nobody has noted, computed from measurements and published tables, each with its working."""

"""Checks tried on dimensions that somebody types: what each takes, and how what is typed is read."""

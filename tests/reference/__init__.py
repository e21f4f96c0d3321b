"""Independent models of what a route is, for checking the search.

Nothing here imports the search. Each model reads the plain JSON object and states the rules again in its own terms:
plain enumeration (`enumerate`), integer programmes (`cpsat`, `highs`), a planning task (`planner`), and a checker of
single routes (`allowed`). `maker` makes random documents.
"""

"""The meaning of the interchange graph: facts, fits, conversions and the search for the cheapest route."""

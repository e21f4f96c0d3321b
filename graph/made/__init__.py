"""Parts to be made for a joint: bushes, sleeves, spacers. What they are like, what they come to, their drawings.

Adapter plates, which have two patterns and an outline of their own, are in graph/plates. Knows no catalogue.
"""

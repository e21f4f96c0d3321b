"""The finished assembly as a longitudinal section to scale: its description, its layout, its drawing as SVG.

Knows no catalogue and no route: `graph.answer.section` describes, this package draws what it is given.
"""

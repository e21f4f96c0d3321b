"""Adapter plates: two hole patterns in one plate, its drawings, and which known pattern a measured face is.

Lengths are whole micrometres, seen from the gearbox's side (`rear`), x to the right and y up from the common axis.
Nothing here knows the catalogue: faces come in, designs and drawings go out.
"""

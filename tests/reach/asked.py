"""A question of reach, put for one unit."""

from __future__ import annotations

from dataclasses import replace

from graph.reading import Question


def with_unit(question: Question, side: str, unit: str) -> Question:
    """The question with the unit on the side that is looked for ("gearbox" or "engine")."""
    return replace(question, gearbox=unit) if side == "gearbox" else replace(question, engine=unit)

"""A made part, or a refusal, as plain values for JSON. Lengths in mm, to the micrometre; null where not known."""

from __future__ import annotations

from typing import Any

from graph.fits.model import NM_PER_MM
from graph.made.model import MadePart, MadeRefused, MadeSize
from graph.made.sheet import paper_words
from graph.made.words import caution_lines, note_lines
from graph.plates.as_json import window_as_json

Json = dict[str, Any]


def made_as_json(found: MadePart | MadeRefused) -> Json:
    """`verdict` is designed, to measure (some size is not known) or refused, with its reasons."""
    if isinstance(found, MadeRefused):
        reasons = [{"path": one.path, "what": one.what, "move": one.move} for one in found.reasons]
        return {"verdict": "refused", "reasons": reasons, "design": None}
    return {"verdict": "to measure" if found.measure else "designed", "reasons": [], "design": _design(found)}


def _design(part: MadePart) -> Json:
    kind = part.kind
    return {
        "kind": kind.id, "label": part.title, "material": kind.material, "hardness": kind.hardness,
        "datum": kind.datum, "surface": kind.surface, "edge_break_mm": kind.edge_break_nm / NM_PER_MM,
        "closes": list(kind.closes), "between": list(part.mates), "sizes": [_size(one) for one in part.sizes],
        "holes": [
            {"id": one.id, "x_mm": one.x_nm / NM_PER_MM, "y_mm": one.y_nm / NM_PER_MM,
             "drill_mm": one.drill_nm / NM_PER_MM, "words": one.what}
            for one in part.holes
        ],
        "window": window_as_json(part.window), "chosen": part.chosen_text() or None, "measure": list(part.measure),
        "notes": list(note_lines(part)), "check_when_fitted": list(kind.to_confirm),
        "cautions": list(caution_lines(part)),
        "paper": None if part.measure else paper_words(part),
    }  # fmt: skip


def _size(one: MadeSize) -> Json:
    low, high = (None if nm is None else nm / NM_PER_MM for nm in (one.low_nm, one.high_nm))
    return {
        "name": one.name, "low_mm": low, "high_mm": high, "fit": one.fit or None, "taken": one.taken or None,
        "source": one.source or None, "measure": list(one.measure),
    }  # fmt: skip

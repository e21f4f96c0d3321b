"""What is sent twice is kept once: its notes have their ids from the key that it was sent with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from graph.costing.notes import CostNote, CostNotes
from graph.errors import Conflict, InvalidInput, Problem
from graph.ledger.identity import id_for


class SentBefore(InvalidInput):
    """The same form or request was sent before with something else in it."""


def keep_once(notes: CostNotes, made: Sequence[CostNote], form: str) -> Sequence[CostNote]:
    """Keeps the notes, unless what has this name (a form's or request's key, and who sent it) has kept them already.

    A single note that is a batch of its own stays one. The notes as kept; an empty name is none.
    Raises SentBefore where others were kept under the name, and what `append` raises.
    """
    if not form:
        notes.append(made)
        return made
    batch = f"form-{id_for(form)}"
    alone = _is_alone(made)
    named = [
        replace(note, id=batch if alone else f"{batch}-{number}", batch=batch)
        for number, note in enumerate(made, start=1)
    ]
    if not _is_kept(notes, batch, named):
        try:
            notes.append(named)
        except Conflict:  # the other one of two that came at once
            if not _is_kept(notes, batch, named):
                raise
    return named


def keep_entry(notes: CostNotes, made: Sequence[CostNote], form: str) -> None:
    """Adds to a job, a single entry once; closing and taking back cannot be done twice. Raises as `keep_once`."""
    keep_once(notes, made, form if _is_alone(made) else "")


def _is_kept(notes: CostNotes, batch: str, made: Sequence[CostNote]) -> bool:
    there = notes.list_notes(batch=batch)
    if there and [_said(note) for note in there] != [_said(note) for note in made]:
        told = "something else was kept from this form or key already; send it anew to keep this as well"
        raise SentBefore([Problem("", told)])
    return bool(there)


def _said(note: CostNote) -> tuple[object, ...]:
    return note.kind, note.about, dict(note.body), note.author


def _is_alone(made: Sequence[CostNote]) -> bool:
    """Is it a single note that is a batch of its own, as a job's entry is?"""
    return len(made) == 1 and made[0].batch == made[0].id

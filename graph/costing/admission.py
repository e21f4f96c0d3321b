"""What may be kept beside what is kept already, judged while nobody else writes: two at once must not both be right.

Whoever makes notes of cost has looked before, without a lock; here it is looked again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from graph.costing.jobs.job import DONE_WELL, get_job
from graph.costing.jobs.numbering import check_number
from graph.costing.notes import JOB, JOB_ENTRY, RETRACTION, CostNote, CostNotes, standing
from graph.errors import Closed, Conflict, InvalidInput, Problem
from graph.plain_text import fault_of_text

_TEXTS = ("id", "kind", "about", "author", "method", "evidence", "job", "batch", "retracts")


def check_cost_notes(notes: Sequence[CostNote], rows: Sequence[Mapping[str, str]]) -> None:
    """Raises InvalidInput for a text that no export could hold, or a time that is none.

    `rows`: the same notes as texts, their bodies as JSON in ASCII; most are seen to be plain at a glance.
    """
    problems: list[Problem] = []
    times: set[str] = set()
    for note, row in zip(notes, rows, strict=True):
        where = f"{note.kind} {note.about}"
        if "\\" in row["body"] or fault_of_text("".join(row.values())):
            for name in _TEXTS:
                problems += _faults(f"{where}: {name}", getattr(note, name))
            problems += _faults(where, note.body)
        if note.made_on in times:
            continue
        times.add(note.made_on)
        if note.made_on and not _is_time(note.made_on):
            problems.append(Problem(f"{where}: made_on", f"expected an ISO 8601 time, found {note.made_on!r}"))
    if problems:
        raise InvalidInput(problems[:100])


def admit(kept: CostNotes, notes: Sequence[CostNote]) -> None:
    """Raises Conflict for a note that `kept` leaves no room for. Called under the writer's lock."""
    opened = {note.about for note in notes if note.kind == JOB}
    judged: set[tuple[str, bool]] = set()
    for note in notes:
        if note.kind == RETRACTION:
            _admit_retraction(kept, note)
        elif note.kind == JOB:
            check_number(kept, note)
        elif note.kind == JOB_ENTRY and note.job not in opened:
            key = (note.job, note.body.get("entry") == "follow-up")
            if key not in judged:
                _admit_entry(kept, *key)
            judged.add(key)


def _admit_retraction(kept: CostNotes, note: CostNote) -> None:
    if any(one.retracts == note.retracts for one in kept.list_notes(kind=RETRACTION)):
        raise Conflict(f"the batch {note.retracts!r} was taken back already")
    of_jobs = [one for one in kept.list_notes(batch=note.retracts) if one.kind == JOB_ENTRY]
    for one in of_jobs:
        opened = standing(kept, kind=JOB, about=one.job)
        if one.body.get("entry") not in ("closed", "follow-up") and opened and get_job(kept, one.job).closing:
            raise Closed(f"job {one.job!r} is closed: reopen it, then take the entry back and close it again")


def _admit_entry(kept: CostNotes, name: str, looks_back: bool) -> None:
    """A job that was never opened here is no race: whoever writes such entries has no plan beside them."""
    if not kept.list_notes(kind=JOB, about=name):
        return
    if not standing(kept, kind=JOB, about=name):
        raise Conflict(f"job {name!r} was taken back: open it again before noting anything on it")
    job = get_job(kept, name)
    if looks_back and job.outcome != DONE_WELL:
        raise Conflict(f"job {name!r} is not closed as done; close it before looking back")
    if not looks_back and job.closing:
        raise Closed(f"job {name!r} is closed ({job.outcome}); reopen it to change it")


def _faults(where: str, value: object) -> list[Problem]:
    if isinstance(value, str):
        fault = fault_of_text(value)
        return [Problem(where, fault)] if fault else []
    if isinstance(value, Mapping):
        return [p for name, each in value.items() for p in (*_faults(where, name), *_faults(f"{where}: {name}", each))]
    if isinstance(value, list | tuple):
        return [p for number, each in enumerate(value) for p in _faults(f"{where}[{number}]", each)]
    return []


def _is_time(text: str) -> bool:
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True

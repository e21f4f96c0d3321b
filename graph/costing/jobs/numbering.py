"""The running numbers of jobs: year and serial, such as 2026-0007, for a job to which the shop gives no number.

Nobody keeps a counter: the next number is read off the plans that were ever kept, those taken back too, and asked for
as any number is. The writer's lock lets one writer have it; whoever was second reads again. So a number lies in the
chain of the ledger with the plan that has it, comes back with a backup, and is never given twice.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import replace

from graph.costing.notes import JOB, CostNote, CostNotes, standing
from graph.costing.once import SentBefore
from graph.errors import Conflict, InvalidInput, Problem
from graph.ledger.identity import id_for

ASKED = ("title", "gearbox", "engine")  # of a plan: what tells whether the same job was sent again
NOT_IN_NUMBERS = frozenset('/\\?#%"<>')  # they mean something else in an address
SERIAL = "serial"  # in the plan of a job that has a running number: which one of its year


class NumberTaken(Conflict):
    """Another job has the number, or had it before it was taken back."""


def keep_numbered(notes: CostNotes, made: Sequence[CostNote], form: str = "") -> str:
    """Keeps a plan and what comes with it, all or none, and hands back the number of its job.

    A plan that is about nothing gets the next running number of the year it was made in. `form`: the key that it was
    sent with, and who sent it; what has kept a job already keeps no second one. Raises NumberTaken, SentBefore where
    that was another job, and what `append` raises.
    """
    if before := number_of_form(notes, form, made[0].body):
        return before
    made = _named(made, form) if form else made
    while True:
        numbered = made if made[0].about else _with_running_number(notes, made)
        try:
            check_number(notes, numbered[0])
            notes.append(numbered)
        except Conflict as refused:
            if before := number_of_form(notes, form, made[0].body):  # the other one of two that came at once
                return before
            if made[0].about or not isinstance(refused, NumberTaken):
                raise
            continue  # another writer was first with it
        return numbered[0].about


def check_number(kept: CostNotes, plan: CostNote) -> None:
    """Raises NumberTaken where the number of a plan is in use, or was a running one of a job that was taken back.

    A number of the shop's own may be used again once its job is taken back: the shop plans the same job anew.
    """
    if standing(kept, kind=JOB, about=plan.about):
        raise NumberTaken(f"a job {plan.about!r} is there already; give the new one another number")
    earlier = kept.list_notes(kind=JOB, about=plan.about)
    if any(SERIAL in note.body for note in (*earlier, plan) if earlier):
        raise NumberTaken(f"{plan.about!r} was the number of a job that was taken back; give this one another")


def _with_running_number(notes: CostNotes, made: Sequence[CostNote]) -> list[CostNote]:
    year = made[0].made_on[:4]
    ever = notes.list_notes(kind=JOB)
    taken = {note.about for note in ever}
    serials = (note.body.get(SERIAL) for note in ever if note.about.startswith(f"{year}-"))
    serial = 1 + max((one for one in serials if isinstance(one, int)), default=0)
    while (number := f"{year}-{serial:04}") in taken:  # the shop has given it itself
        serial += 1
    plan, *besides = (replace(note, about=number, job=number) for note in made)
    return [replace(plan, body={**plan.body, SERIAL: serial}), *besides]


def number_of_form(notes: CostNotes, form: str, asked: Mapping[str, object]) -> str:
    """The number of the job that was kept from a form or request, though it was taken back since; "" for none.

    `asked`: title, gearbox and engine of what is sent now. Raises SentBefore where the job kept has others.
    """
    kept = notes.list_notes(kind=JOB, batch=_batch_of(form)) if form else []
    if not kept:
        return ""
    if any(kept[0].body.get(name) != asked[name] for name in ASKED):
        told = f"job {kept[0].about} was planned from this form or key already; send it anew to plan this one as well"
        raise SentBefore([Problem("", told)])
    return kept[0].about


def read_number(typed: str) -> str:
    """The shop's own number as it is kept: without blanks around it, one form of each character (Unicode NFKC, UAX 15).
    "" for none.

    Raises InvalidInput for what nobody could see, type again or find by its address.

    >>> read_number(" J-7 "), read_number("２０２６-０５０３")
    ('J-7', '2026-0503')
    """
    number = unicodedata.normalize("NFKC", typed).strip()
    odd = next((one for one in number if one in NOT_IN_NUMBERS or _is_unseen(one)), "")
    if odd:
        shown = odd if odd in NOT_IN_NUMBERS else f"U+{ord(odd):04X}"
        told = f"{shown} cannot stand in a job's number; use letters, digits, blanks, - or . instead"
        raise InvalidInput([Problem("number", told)])
    if number and not any(map(str.isalnum, number)):
        raise InvalidInput([Problem("number", f"{number!r} has no letter or digit; write one, or leave it out")])
    return number


def _is_unseen(one: str) -> bool:
    """Controls, marks of direction, zero-width characters, and blanks that are not the plain one."""
    return one != " " and unicodedata.category(one)[0] in "CZ"


def _named(made: Sequence[CostNote], form: str) -> list[CostNote]:
    """The plan's id, and the batch, by the form: the ledger has each id once."""
    name = _batch_of(form)
    return [replace(made[0], id=name, batch=name), *(replace(note, batch=name) for note in made[1:])]


def _batch_of(form: str) -> str:
    return f"{JOB}-{id_for(form)}"

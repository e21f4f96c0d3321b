"""`note WHAT ...`: writes a note from the command line as the pages' forms do, with the same checks and words.

`note fits A B`, `note requires-machining A B --work LINE`, and so on; `note reading PART QUANTITY=VALUE ...`;
`note price PART MONEY`. Parts by id, number or words; where several are meant, all are named and nothing is written.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping, Sequence

from graph.catalogue.model import Measurement
from graph.catalogue.near import near_matches
from graph.cli.options import pairs_of
from graph.cli.shop import opened_for_writing
from graph.costing.notes import Provenance
from graph.counter.opened import OpenedShop
from graph.errors import InvalidInput, Problem
from graph.ledger.identity import new_id
from graph.ledger.record import Draft
from graph.lookups.index import CatalogueIndex
from graph.notes.form import FIELDS, Choice, FormInDoubt, NoteForm, at_fields, draft_of, find_part, own_kinds
from graph.notes.prices import price_note
from graph.notes.readings import EVIDENCE, Typed, checked, fact_of, quantities_of, statements_of
from graph.notes.relations import PRICE, READING
from graph.notes.stated_before import stated_before, words_of

_OF_PRICES = ("condition", "supplier", "dated")
_AT = {"a": "PART", "b": "OTHER PART", "relation": "WHAT", "part": "PART", "cash": "MONEY", "made_at": "--made-at",
       "lead_days": "--lead-days"}  # fmt: skip


def run(arguments: argparse.Namespace) -> int:
    """Writes the note and says which. Raises InvalidInput with every fault at the option it belongs to."""
    try:
        with opened_for_writing(arguments) as opened:
            made = _WRITE.get(arguments.what, _relation)(arguments, opened)
    except FormInDoubt as error:
        raise InvalidInput([_at_option(one, error.choices) for one in error.problems]) from None
    except InvalidInput as error:
        raise InvalidInput([_at_option(one, {}) for one in error.problems]) from None
    print(json.dumps(made) if arguments.json else f"written: {made['note']}: {made['text']}")
    return 0


def _at_option(problem: Problem, choices: Mapping[str, Sequence[Choice]]) -> Problem:
    named = ", ".join(f"{one.id} ({one.label})" for one in choices.get(problem.path, ()))
    path = problem.path
    option = _AT.get(path, f"--{path}" if path in FIELDS or path in _OF_PRICES else path)
    return Problem(option, f"{problem.message}{f': {named}' if named else ''}")


def _relation(arguments: argparse.Namespace, opened: OpenedShop) -> dict[str, str]:
    index, ledger, note_id = opened.shop.index, opened.notebook.ledger, new_id()
    form = _form(arguments)
    try:
        draft = draft_of(form, index, ledger.base, note_id, "", own_kinds(opened.notebook, index.catalogue))
        if stated := stated_before(form, index):
            raise InvalidInput([Problem("again", words_of(stated, "say with --again that this one confirms it"))])
        entry = ledger.append(draft, note_id=note_id)
    except FormInDoubt:
        raise
    except InvalidInput as error:
        raise InvalidInput(at_fields(error.problems, note_id)) from None
    return {"note": entry.note_id, "text": draft.text.strip()}


def _form(arguments: argparse.Namespace) -> NoteForm:
    if len(arguments.about) > 2:
        raise InvalidInput([Problem("PART", f"expected one or two parts; found {len(arguments.about)}: quote words")])
    a, b = (*arguments.about, "")[:2]
    return NoteForm(
        a=a, relation=arguments.what, b=b, joint=arguments.joint, work="\n".join(arguments.work),
        reason=arguments.reason, hours=arguments.hours, cash=arguments.cash, text=arguments.text,
        evidence=arguments.evidence, method=arguments.method, job=arguments.job, author=arguments.author,
        made_at=arguments.made_at, shareable="yes" if arguments.shareable else "", place=arguments.place,
        assembly=arguments.assembly, again="yes" if arguments.again else "",
    )  # fmt: skip


def _reading(arguments: argparse.Namespace, opened: OpenedShop) -> dict[str, str]:
    index, ledger, note_id = opened.shop.index, opened.notebook.ledger, new_id()
    problems: list[Problem] = []
    choices: dict[str, tuple[Choice, ...]] = {}
    part = find_part(index, "a", arguments.about[0], problems, choices)
    read = pairs_of(arguments.about[1:])
    if not read:
        problems.append(Problem("QUANTITY=VALUE", "say what was read, such as width=25 mm"))
    if not arguments.author:
        problems.append(Problem("author", "say who measured: initials or a role will do"))
    facts: list[Measurement] = []
    for name, value in read.items():
        if part is None:
            break
        try:
            facts.append(_fact(arguments, index, part.id, name, value, len(facts)))
        except InvalidInput as error:
            problems += [Problem(name, one.message) for one in error.problems]
    if problems:
        raise FormInDoubt(problems, choices)
    assert part is not None
    said = "; ".join(f"{name} {value}" for name, value in read.items())
    draft = Draft(
        text=arguments.text or f"{part.label}: {said}", author=arguments.author,
        evidence=arguments.evidence or EVIDENCE, job=arguments.job, made_at=arguments.made_at,
        method=arguments.method or ", ".join(dict.fromkeys(fact.tool for fact in facts if fact.tool)),
        shareable=arguments.shareable, statements=statements_of(facts, ledger.base, note_id),
    )  # fmt: skip
    return {"note": ledger.append(draft, note_id=note_id).note_id, "text": draft.text}


def _fact(
    arguments: argparse.Namespace, index: CatalogueIndex, part: str, name: str, value: str, number: int
) -> Measurement:
    """The reading, checked. Raises InvalidInput for a quantity that such a part has not, and what cannot be read."""
    quantities = {one.id: one for one in quantities_of(index, index.catalogue.parts[part])}
    if name not in quantities:
        near = near_matches(name, quantities) or tuple(quantities)
        raise InvalidInput([Problem(name, f"no such quantity of this kind of part; known are {', '.join(near)}")])
    typed = Typed(value, arguments.spread, arguments.tool, arguments.datum)
    fact = fact_of(part, quantities[name], typed, arguments.unit, f"note-{number}")
    checked(index.catalogue, quantities[name], fact)
    return fact


def _price(arguments: argparse.Namespace, opened: OpenedShop) -> dict[str, str]:
    if len(arguments.about) != 2:
        raise InvalidInput([Problem("MONEY", "expected a part and its price, such as: note price plate-20 120")])
    part, cash = arguments.about
    typed = {
        "part": part, "cash": cash, "condition": arguments.condition, "dated": arguments.dated,
        "supplier": arguments.supplier, "lead_days": arguments.lead_days, "author": arguments.author,
    }  # fmt: skip
    problems: list[Problem] = []
    choices: dict[str, tuple[Choice, ...]] = {}
    made = price_note(opened.shop.index, typed, Provenance(arguments.author, "typed"), problems, choices)
    if problems or made is None:
        raise FormInDoubt(problems, choices)
    opened.shop.keep([made])
    return {"note": made.id, "text": f"{made.about} at {cash} {opened.shop.index.catalogue.currency}".rstrip()}


_WRITE = {READING: _reading, PRICE: _price}

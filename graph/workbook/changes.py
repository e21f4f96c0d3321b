"""What a workbook would change: rows held against what stands, as notes to be added or revised, and each row's fate."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import pyoxigraph as ox

from graph.catalogue.names import LABEL, LAY, TYPE
from graph.catalogue.statements import LIST_REST
from graph.errors import InvalidFacts, Problem
from graph.ledger.identity import note_iri
from graph.ledger.record import Draft, Entry, draft_of
from graph.ledger.statements import canonical, triples_of
from graph.ledger.unit_sheets import SHEET, credited
from graph.workbook import values as cells
from graph.workbook.arrive import Understood, WantedRow
from graph.workbook.known import FILES, Known, Thing
from graph.workbook.plan import ABOUT, REMARKS, WORDS, sheets
from graph.workbook.values import Value, iri, same

SHOP = LAY + "Shop"
NEW, CHANGED, SAME = "new", "changed", "as it stands"
_NODE = re.compile(r"/nodes/(\d+)>")


@dataclass(frozen=True, slots=True)
class Fate:
    """What becomes of a row: NEW, CHANGED or SAME. `place`: sheet and row; `name`: of the thing; `what` changes."""

    place: str
    sheet: str
    name: str
    fate: str
    what: str = ""


@dataclass(slots=True)
class Changes:
    """`added`: notes by id; `revised`: notes as they stand, each with what it shall say; `places`: rows of a note's id.

    `told`: what is not taken in and why, though nothing is wrong. `titles`: of the workbook's sheets, in order.
    """

    fates: list[Fate] = field(default_factory=list)
    added: dict[str, Draft] = field(default_factory=dict)
    revised: dict[str, tuple[Entry, Draft]] = field(default_factory=dict)
    places: dict[str, WantedRow] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    titles: list[str] = field(default_factory=list)

    def counts(self) -> dict[str, Counter[str]]:
        """Per sheet how many rows are new, changed, as they stand."""
        found: dict[str, Counter[str]] = {}
        for fate in self.fates:
            found.setdefault(fate.sheet, Counter())[fate.fate] += 1
        return found

    @property
    def stands(self) -> list[tuple[str, Draft]]:
        """Every draft by its note, those that are new first."""
        return [*self.added.items(), *((note, draft) for note, (_, draft) in self.revised.items())]


def changes_of(known: Known, understood: Understood, words: Draft) -> Changes:
    """`words`: what holds of every row that does not say it itself (author, evidence, who sent it)."""
    found = Changes(problems=list(understood.problems))
    edits: dict[str, dict[str, dict[str, tuple[Value, ...]]]] = {}
    rows: dict[str, list[WantedRow]] = {}
    for wanted in understood.wanted:
        if wanted.of_class == SHOP and (shop := _own_shop(known)) is not None:
            _compare_shops(known, shop, wanted, found)
        elif wanted.sheet == REMARKS:
            _take_remark(known, wanted, words, found)
        else:
            _take(known, wanted, words, found, edits, rows)
    for note_id, about in edits.items():
        entry, row = known.entries[note_id], rows[note_id][0]
        if entry.iri != note_iri(known.base, note_id):
            told = f"stands in a note of another shop (<{entry.iri}>), which is not changed here: add a row of your own"
            found.problems.append(Problem(row.place, told))
            continue
        try:
            found.revised[note_id] = entry, _revised(entry, about, rows[note_id], words)
        except InvalidFacts as error:
            found.problems += [Problem(row.place, one.message) for one in error.problems]
            continue
        found.places[note_id] = row
    return found


def _revised(
    entry: Entry, about: Mapping[str, Mapping[str, tuple[Value, ...]]], rows: list[WantedRow], words: Draft
) -> Draft:  # fmt: skip
    """The note as the rows change it. On a unit's sheet each place is by whoever changed it, the rest as it was."""
    own = _changed_words(rows[0], words, entry)
    statements = _rewritten(entry, about)
    if entry.method == SHEET:
        own |= {"author": words.author or entry.author, "evidence": words.evidence or entry.evidence, "method": SHEET}
        edited = {row.iri: (said["author"], said["evidence"])
                  for row in rows for said in [_changed_words(row, words, entry)]}  # fmt: skip
        statements = credited(statements, entry, own["author"], own["evidence"], edited)
    own["text"] = own.get("text") or entry.text
    return replace(draft_of(entry), **own, statements=statements, settles=entry.settles)


def _changed_words(row: WantedRow, words: Draft, entry: Entry) -> dict[str, Any]:
    """Who says what a row changes, and how it is known. Cells left as the workbook was written out speak of what stood
    before, not of the change: then whoever sends the workbook in says so."""
    own = _own_words(row, words)
    for name in ("author", "evidence"):
        given, stood = getattr(words, name), getattr(entry, name)
        own[name] = (given or stood) if own[name] in ("", stood) else own[name]
    return own


def _take(
    known: Known, wanted: WantedRow, words: Draft, found: Changes,
    edits: dict[str, dict[str, dict[str, tuple[Value, ...]]]], rows: dict[str, list[WantedRow]],
) -> None:  # fmt: skip
    thing, house = known.things.get(wanted.iri), known.house.get(wanted.iri, {})
    changed = {
        prop: values
        for prop, values in wanted.said.items()
        if not same(values, thing.said.get(prop, ()) if thing else ())
        and not (prop in house and same(values, house[prop]) and not (thing and prop in thing.said))
    }
    name = wanted.name or known.id_of(wanted.iri)
    if not changed:
        found.fates.append(Fate(wanted.place, wanted.sheet, name, SAME))
        return
    if thing is None:
        said = changed if house else {TYPE: (iri(wanted.of_class),), **changed}
        _add(known, wanted, {prop: values for prop, values in said.items() if values}, words, found)
        found.fates.append(Fate(wanted.place, wanted.sheet, name, CHANGED if house else NEW, _told(wanted, changed)))
        return
    if not _may_change(known, wanted, thing, changed, found):
        return
    fresh = _spread(thing, changed, edits, rows, wanted)
    if fresh:
        _add(known, wanted, fresh, words, found)
    found.fates.append(Fate(wanted.place, wanted.sheet, name, CHANGED, _told(wanted, changed)))


def _told(wanted: WantedRow, changed: Iterable[str]) -> str:
    headers = [wanted.columns[prop].rpartition("(")[2].rstrip(")") for prop in changed if prop in wanted.columns]
    return ", ".join(headers)


def _may_change(
    known: Known, wanted: WantedRow, thing: Thing, changed: Mapping[str, tuple[Value, ...]], found: Changes
) -> bool:
    """Nothing that fact files say is changed here."""
    fine = True
    for prop, values in changed.items():
        fixed = set(thing.by_source.get(FILES, {}).get(prop, ())) - set(values)
        if fixed:
            fine = False
            said = ", ".join(sorted(_in_words(known, value) for value in fixed))
            told = f"the workshop's files of facts say {said[:120]!r} here, which a spreadsheet does not change"
            found.problems.append(Problem(wanted.columns.get(prop, wanted.place), told))
    return fine


def _in_words(known: Known, value: Value) -> str:
    said = value.parts[0] if value.parts else ""
    return known.name_of(said) if "://" in said else said


def _spread(
    thing: Thing, changed: Mapping[str, tuple[Value, ...]],
    edits: dict[str, dict[str, dict[str, tuple[Value, ...]]]], rows: dict[str, list[WantedRow]], wanted: WantedRow,
) -> dict[str, tuple[Value, ...]]:  # fmt: skip
    """The change laid over the notes that speak of the thing; what is left for a note of its own."""
    defining = [note for note in thing.notes if TYPE in thing.by_source[note]] or thing.notes
    fresh: dict[str, tuple[Value, ...]] = {}
    for prop, values in changed.items():
        elsewhere = set(thing.by_source.get(FILES, {}).get(prop, ()))
        for note in thing.notes:
            before = thing.by_source[note].get(prop, ())
            own = tuple(value for value in before if value in values)
            if defining and note == defining[-1]:
                continue
            elsewhere |= set(own)
            if own != before:
                _edit(thing, note, prop, own, edits, rows, wanted)
        rest = tuple(value for value in values if value not in elsewhere)
        if defining:
            if not same(rest, thing.by_source[defining[-1]].get(prop, ())):
                _edit(thing, defining[-1], prop, rest, edits, rows, wanted)
        elif rest:
            fresh[prop] = rest
    return fresh


def _edit(
    thing: Thing, note: str, prop: str, values: tuple[Value, ...],
    edits: dict[str, dict[str, dict[str, tuple[Value, ...]]]], rows: dict[str, list[WantedRow]], wanted: WantedRow,
) -> None:  # fmt: skip
    said = edits.setdefault(note, {}).setdefault(thing.iri, dict(thing.by_source[note]))
    said[prop] = values
    if wanted not in (held := rows.setdefault(note, [])):
        held.append(wanted)


def _add(known: Known, wanted: WantedRow, said: Mapping[str, tuple[Value, ...]], words: Draft, found: Changes) -> None:
    number = iter(range(2, 1_000_000))
    node = f"{note_iri(known.base, wanted.note_id)}/nodes/"
    stated = cells.triples_of(wanted.iri, said, lambda: f"{node}{next(number)}", _whole_numbers())
    try:
        statements = canonical(stated)
    except (InvalidFacts, ValueError) as error:
        problems = error.problems if isinstance(error, InvalidFacts) else [Problem("", str(error))]
        found.problems += [Problem(wanted.place, one.message) for one in problems]
        return
    given = replace(words, **_own_words(wanted, words), statements=statements)
    _check_known(given, wanted, found)
    found.added[wanted.note_id] = given if given.text else replace(given, text=f"{wanted.sheet}, row {wanted.row}.")
    found.places[wanted.note_id] = wanted


def _check_known(given: Draft, wanted: WantedRow, found: Changes) -> None:
    """Who says so and how it is known is said once for all or row by row; told for the first row that lacks it."""
    for said, name, what in ((given.author, "author", "who says so"), (given.evidence, "evidence", "how it is known")):
        told = f"say {what}: once, where the workbook is sent in, or on the row in the column {WORDS[name]!r}"
        if not said and all(problem.message != told for problem in found.problems):
            found.problems.append(Problem(wanted.place, told))


def _own_words(wanted: WantedRow, words: Draft) -> dict[str, Any]:
    own: dict[str, Any] = {name: said for name, said in wanted.words.items() if name != "shareable" and said}
    if "shareable" in wanted.words:
        own["shareable"] = wanted.words["shareable"].casefold() in ("yes", "true")
    return {"author": words.author, "evidence": words.evidence, "recorded_by": words.recorded_by, **own}


def _whole_numbers() -> frozenset[str]:
    return frozenset(column.property for sheet in sheets() for column in sheet.columns if column.whole)


def _rewritten(entry: Entry, about: Mapping[str, Mapping[str, tuple[Value, ...]]]) -> str:
    """The note's statements with those of some things said anew."""
    triples = triples_of(entry.statements)
    by_subject: dict[str, list[ox.Triple]] = {}
    for triple in triples:
        by_subject.setdefault(getattr(triple.subject, "value", ""), []).append(triple)
    gone = set(about)
    waiting = list(about)
    while waiting:
        for triple in by_subject.get(waiting.pop(), ()):
            prop, node = triple.predicate.value, getattr(triple.object, "value", "")
            inner = prop in (*cells.NESTED, cells.OPERATIONS, LIST_REST)
            if inner and node in by_subject and node not in gone:
                gone.add(node)
                waiting.append(node)
    kept = [triple for triple in triples if getattr(triple.subject, "value", "") not in gone]
    highest = max(map(int, _NODE.findall(entry.statements)), default=0)
    number = iter(range(highest + 1, highest + 1_000_000))

    def stated() -> Iterator[ox.Triple]:
        for name, said in about.items():
            full = {prop: values for prop, values in said.items() if values}
            yield from cells.triples_of(name, full, lambda: f"{entry.iri}/nodes/{next(number)}", _whole_numbers())

    return canonical([*kept, *stated()])


def _take_remark(known: Known, wanted: WantedRow, words: Draft, found: Changes) -> None:
    said, about = wanted.words.get("text", ""), wanted.said.get(ABOUT, ())
    for entry in known.entries.values():
        if entry.text == said and all(f"<{value.parts[0]}>" in entry.statements for value in about):
            found.fates.append(Fate(wanted.place, wanted.sheet, said[:80], SAME))
            return
    _add(known, wanted, {ABOUT: about} if about else {}, words, found)
    found.fates.append(Fate(wanted.place, wanted.sheet, said[:80], NEW))


def _own_shop(known: Known) -> Thing | None:
    return next((thing for thing in known.things.values() if known.is_any_of(thing.iri, (SHOP,))), None)


def _compare_shops(known: Known, shop: Thing, wanted: WantedRow, found: Changes) -> None:
    """Another money would make every price wrong; the rest is told."""
    for prop, values in wanted.said.items():
        own = shop.said.get(prop, ())
        if prop == TYPE or not values or same(values, own):
            continue
        theirs, ours = (", ".join(value.parts[0] for value in one) for one in (values, own))
        where = wanted.columns.get(prop, wanted.place)
        if prop == LAY + "currency" and ours:
            told = f"prices are in {theirs}, this workshop reckons in {ours}: convert them, or start one in {theirs}"
            found.problems.append(Problem(where, told))
        elif prop != LABEL:
            found.told.append(f"{where}: {theirs} there, {ours or 'nothing'} here; it stays as it is here")
    found.fates.append(Fate(wanted.place, wanted.sheet, wanted.name, SAME))

"""What was written of a unit, turn by turn: on its sheet, by workbooks, in notes beside it; and going back to one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from api.pages.sheet_view import SheetTurn, told
from api.security import LOCAL, Access
from graph.catalogue.model import Catalogue, Part
from graph.catalogue.names import LABEL
from graph.errors import InvalidInput, Problem
from graph.ledger.find import NoteFilter, find_notes
from graph.ledger.notebook import Notebook
from graph.ledger.record import RETRACT, Draft, Entry
from graph.ledger.record import draft_of as draft_of_entry
from graph.ledger.things import stated_parts
from graph.ledger.unit_sheets import MADE_FOR, NOTHING, SHEET, PlaceSaid, credited, said_in_sheet
from graph.workbook.batches import batches_of
from graph.workbook.plan import PARTS, sheets

MOST_TURNS = MOST_BESIDE = 50
_Said = Mapping[str, tuple[str, ...]]  # of a part: what is stated, by property


def draft_of_earlier(notebook: Notebook, sheet: Entry, to: int, author: str, access: Access) -> Draft:
    """An earlier writing of a sheet as a draft of whoever goes back to it; its places keep who said so.

    Raises InvalidInput where there is no such writing, or nobody says who goes back.
    """
    who = access.signed(author) if access != LOCAL else author
    earlier = next((one for one in notebook.ledger.get_history(sheet.note_id) if one.revision == to), None)
    if earlier is None or earlier.retracted:
        raise InvalidInput([Problem("to", f"this sheet has no writing {to} to go back to: load it again")])
    if not who:
        raise InvalidInput([Problem("undo_author", "say who takes it back: initials or a role will do")])
    said = credited(earlier.statements, earlier, who, earlier.evidence)
    return replace(draft_of_entry(earlier), author=who, recorded_by=access.name, statements=said)


def history_of(known: Catalogue, notebook: Notebook, unit: Part, sheet: Entry | None) -> tuple[SheetTurn, ...]:
    """Who wrote what of the unit's places, newest first."""
    base = notebook.ledger.base
    iri = unit.id if "://" in unit.id else base + unit.id
    own = notebook.ledger.get_history(sheet.note_id) if sheet else []
    beside = [one for one in find_notes(notebook.ledger, NoteFilter(part=iri), limit=MOST_BESIDE)
              if one.method != SHEET and said_in_sheet(one, base, iri)]  # fmt: skip
    batches = batches_of(notebook, [*own, *beside])
    turns = []
    before: Entry | None = None
    for entry in own:
        did = tuple(_changes(known, base, before, entry)) or ("nothing but its words",)
        did = ("taken back",) if entry.action == RETRACT else did
        turns.append((entry.position, replace(_turn(known, entry, batches), changes=did, revision=entry.revision)))
        before = entry
    for entry in beside:
        did = tuple(_changes(known, base, None, entry, iri))
        turns.append((entry.position, replace(_turn(known, entry, batches), changes=did, note=entry.note_id)))
    turns.sort(key=lambda one: one[0], reverse=True)
    return tuple(turn for _, turn in turns[:MOST_TURNS])


def _turn(known: Catalogue, entry: Entry, batches: Mapping[int, Entry]) -> SheetTurn:
    level = known.evidence_levels.get(entry.evidence)
    by = batches.get(entry.position, entry)
    who = Access(by.recorded_by, "note").signed(by.author) if by.recorded_by not in ("", LOCAL.name) else by.author
    how = by.text.partition(" was taken ")
    way = f"{how[0].removeprefix('The workbook ')} taken {'back' if by.retracted else 'in'}" if by is not entry else ""
    when = entry.recorded_at[:16].replace("T", " ")
    return SheetTurn(0, who, when, level.label if level else entry.evidence, (), way)


def _changes(known: Catalogue, base: str, before: Entry | None, entry: Entry, unit: str = "") -> Iterator[str]:
    """What a writing changed: places, and what it says of the parts that it brought in."""
    was, now = (said_in_sheet(one, base, unit) for one in (before, entry))
    positions = {one: known.position_kinds[one].label for one in known.position_kinds}
    for place in sorted({*was, *now}):
        old, new = was.get(place, NOTHING), now.get(place, NOTHING)
        if old != new:
            yield f"{_place_words(place, base, positions)}: {_told_change(known, old, new)}"
    if before is not None and not before.retracted and not entry.retracted:
        yield from _part_changes(known, base, before, entry)


def _told_change(known: Catalogue, old: PlaceSaid, new: PlaceSaid) -> str:
    return f"{told(known, old)} → {told(known, new)}"


def _part_changes(known: Catalogue, base: str, before: Entry, entry: Entry) -> Iterator[str]:
    """Name, number, price and the like of parts that the sheet holds; conditions stand at their places."""
    headers = {one.property: one.header for sheet in sheets() if sheet.title == PARTS for one in sheet.columns}
    was, now = (_stated(one) for one in (before, entry))
    for part in sorted({*was} & {*now}):
        label = next(iter(now[part].get(LABEL, was[part].get(LABEL, ()))), part.removeprefix(base))
        for prop in sorted({*was[part], *now[part]}):
            old, new = (", ".join(_value(known, base, v) for v in one[part].get(prop, ())) for one in (was, now))
            if old != new and not prop.endswith("#partCondition"):
                header = headers.get(prop, prop.rpartition("#")[2].rpartition("/")[2])
                yield f"{label}, {header}: {old or 'not stated'} → {new or 'not stated'}"


def _stated(entry: Entry) -> dict[str, _Said]:
    found: dict[str, dict[str, tuple[str, ...]]] = {}
    for triple in stated_parts(entry.statements):
        said = found.setdefault(str(triple.subject.value), {})  # type: ignore[union-attr]
        value = str(getattr(triple.object, "value", ""))
        said[triple.predicate.value] = (*said.get(triple.predicate.value, ()), value)
    return dict(found)


def _value(known: Catalogue, base: str, value: str) -> str:
    name = value.removeprefix(base)
    part = known.parts.get(name)
    return part.label if part else name.rpartition("/")[2] if "://" in name else name


def _place_words(place: str, base: str, positions: Mapping[str, str]) -> str:
    if place == MADE_FOR:
        return "made for"
    name = place.removeprefix(base).rpartition("/")[2]
    return positions.get(name, name)

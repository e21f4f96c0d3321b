"""What would settle something that is assumed: a reading or a look, what it opens, and which page takes the result."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from graph.answer import words
from graph.answer.ground import Ground
from graph.answer.model.doubt import PlaceNamed, SettlingLine
from graph.answer.model.lines import Named
from graph.conversion.document import Fault, Inspection
from graph.reading.model import Doubt, Settling


def settling_lines(ground: Ground, fault: Fault, said: Doubt) -> tuple[SettlingLine, ...]:
    """The readings that settle the doubt, else the document's inspections that do."""
    tests = {test.id: test for test in ground.conversion.inspections}
    if said.settles:
        return tuple(_reading(ground, one, tests.get(one.inspection)) for one in said.settles)
    return tuple(_test(ground, test) for test in tests.values() if fault.id in test.settles)


def _reading(ground: Ground, one: Settling, test: Inspection | None) -> SettlingLine:
    if not one.quantity:
        sight = ground.whose(one.of)
        text = one.tool + (f": {sight.label}" if sight else "")
        return SettlingLine(inspection="", words=text, of=sight, tool=one.tool, minutes=one.minutes)
    known = ground.catalogue.quantities.get(one.quantity)
    place = ground.catalogue.position_kinds.get(one.quantity)
    joint = ground.catalogue.joint_kinds.get(one.quantity)
    label = known.label if known else f"bolt face at {joint.label}" if joint else one.quantity
    of = ground.whose(one.of)
    how = ", ".join(part for part in (one.tool, words.minutes(one.minutes) if one.minutes else "") if part)
    text = f"measure {label}" + (f" of {of.label}" if of else "")
    if place is not None:
        text = f"see what {of.label if of else 'the unit'} has as {place.label}"
    text += f" ({how})" if how else ""
    cash, hours = (test.cash_hundredths, test.hours_hundredths) if test else (0, 0)
    return SettlingLine(
        inspection=one.inspection if test else "", words=text, quantity=one.quantity, of=of, tool=one.tool,
        minutes=one.minutes, cash_hundredths=cash, hours_hundredths=hours, tasks=_opened(ground, test),
    )  # fmt: skip


def _test(ground: Ground, test: Inspection) -> SettlingLine:
    return SettlingLine(
        inspection=test.id, words=test.label or test.id, minutes=Fraction(test.hours_hundredths * 60, 100),
        cash_hundredths=test.cash_hundredths, hours_hundredths=test.hours_hundredths, tasks=_opened(ground, test),
    )  # fmt: skip


def _opened(ground: Ground, test: Inspection | None) -> tuple[Named, ...]:
    tasks = sorted(ground.closed(test.tasks), key=lambda task: (ground.depth(task), task)) if test else ()
    return tuple(Named(task, ground.tasks[task].label or task) for task in tasks)


def takes_result(ground: Ground, said: Doubt, open_places: Sequence[PlaceNamed] = ()) -> str:
    """Which page takes what is found."""
    if len(said.parts) == 2 and said.joint:
        one, other = (ground.part_label(part) for part in said.parts)
        return f"the bench page of {one} and {other}, or a note that says whether they fit"
    if open_places:
        return f"the sheet of {open_places[0].unit.label}, at {words.listed([one.at.label for one in open_places])}"
    if said.parts:
        return f"the bench page of {ground.part_label(said.parts[0])}, or a note"
    place = ground.catalogue.position_kinds.get(said.position)
    if place:
        return f"a note that says what is there ({place.label})"
    return "the question: say there how it is" if said.fault else "a note that says how it is"

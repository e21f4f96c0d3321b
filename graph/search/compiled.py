"""A conversion document made ready for the search: sorted, numbered, tasks as bit masks, sums as integers.

Sorting by id first makes every answer independent of the order in which the document lists things.
Money is counted in `money_scale` parts of the currency unit: ten-thousandths (hundredths of money x hundredths of
an hour), or finer where a rate is asked about that is no whole hundredth, so that cash + rate * hours is a whole
number. A *variable* is a position (its options are candidates) or a joint (its options are links).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import reduce
from math import lcm
from operator import and_, or_
from typing import NamedTuple

from graph.conversion.document import Candidate, CandidateOrLink, Conversion, Fault, Joint, Link
from graph.search.budget import ENDLESS, Meter
from graph.search.numbers import Numbers, count_out


@dataclass(frozen=True, slots=True)
class Worn:
    """A fault with its numbers: odds, price of the repair, closed reach as task bits.

    `bit`: the place of the bit that a row's `found` has where the fault is there; faults of one position share it.
    `on`: the (variable, option) that set it; `payers`: those of them that bounds charge it to, all of one variable.
    """

    fault: Fault
    bit: int
    on: tuple[tuple[int, int], ...]
    payers: tuple[tuple[int, int], ...]
    odds: Fraction
    repair: int  # in money_scale parts
    reach: int  # task bits, closed under `after`


class OptionRow(NamedTuple):
    """One option's numbers, ready to be added up. `found`: bits of the faults that are there with it (`Worn.bit`)."""

    cash: int
    hours: int
    days: int  # in 1 / day_scale
    tasks: int
    irreversible: int
    changed: int
    found: int


@dataclass(frozen=True, slots=True)
class Compiled:
    """The numbered form. Lists run over positions, candidates, joints, links and tasks in order of their ids."""

    conversion: Conversion
    position_ids: tuple[str, ...]
    candidates: tuple[tuple[Candidate, ...], ...]  # by position
    joint_ids: tuple[str, ...]
    ends: tuple[tuple[int, int], ...]  # by joint: the places of its two positions
    links: tuple[tuple[Link, ...], ...]  # by joint, grouped by cell, then by id
    cells: tuple[tuple[int, ...], ...]  # by joint and link: first place * number of second candidates + second place
    task_ids: tuple[str, ...]
    task_cash: tuple[int, ...]
    task_hours: tuple[int, ...]
    task_days: tuple[int, ...]  # in 1 / day_scale
    day_scale: int
    rows: tuple[tuple[OptionRow, ...], ...]  # by variable and option
    closed: Mapping[str, int]  # task id -> bits of the task and all it comes after
    always: int  # the tasks that every route does: those that all options of some variable need
    worn: tuple[Worn, ...]
    cash_weight: int
    hours_weight: int
    money_scale: int
    numbers: Numbers = field(compare=False)

    def money(self, cash_hundredths: int, hours_hundredths: int) -> int:
        """cash + rate * hours, in `money_scale` parts of the currency unit."""
        return cash_hundredths * self.cash_weight + hours_hundredths * self.hours_weight

    def task_money(self, place: int) -> int:
        return self.money(self.task_cash[place], self.task_hours[place])


def compile_conversion(conversion: Conversion, meter: Meter = ENDLESS) -> Compiled:
    """The numbered form of a document whose references hold (see `parse_conversion`). Raises BudgetSpent."""
    tasks = sorted(conversion.tasks, key=lambda task: task.id)
    closed = _closed_tasks({task.id: (1 << place, task.after) for place, task in enumerate(tasks)})
    positions = sorted(conversion.positions, key=lambda position: position.id)
    place_of = {position.id: place for place, position in enumerate(positions)}
    candidates = tuple(tuple(sorted(one.candidates, key=lambda candidate: candidate.id)) for one in positions)
    joints = sorted(conversion.joints, key=lambda joint: joint.id)
    ends = tuple((place_of[joint.between[0]], place_of[joint.between[1]]) for joint in joints)
    links, cells = _links_and_cells(joints, [len(candidates[second]) for _, second in ends], candidates, meter)
    day_scale = lcm(
        *{one.days.denominator for choices in (*candidates, *links) for one in choices},
        *{task.days.denominator for task in tasks},
    )
    meter.check()
    bit_of = _fault_bits(conversion, [position.id for position in positions])
    rows = _rows(candidates, links, closed, day_scale, _doubts(conversion, bit_of))
    return Compiled(
        conversion=conversion,
        position_ids=tuple(position.id for position in positions),
        candidates=candidates,
        joint_ids=tuple(joint.id for joint in joints),
        ends=ends,
        links=links,
        cells=cells,
        task_ids=tuple(task.id for task in tasks),
        task_cash=tuple(task.cash_hundredths for task in tasks),
        task_hours=tuple(task.hours_hundredths for task in tasks),
        task_days=tuple(int(task.days * day_scale) for task in tasks),
        day_scale=day_scale,
        rows=rows,
        always=reduce(or_, (reduce(and_, (row.tasks for row in some)) for some in rows if some), 0),
        closed=closed,
        worn=_worn(conversion, rows, bit_of, closed),
        cash_weight=100,
        hours_weight=conversion.rate_hundredths,
        money_scale=10_000,
        numbers=count_out(conversion, (*candidates, *links)),
    )


def _links_and_cells(
    joints: Sequence[Joint], widths: Sequence[int], candidates: Sequence[Sequence[Candidate]], meter: Meter
) -> tuple[tuple[tuple[Link, ...], ...], tuple[tuple[int, ...], ...]]:
    """By joint its links, grouped by cell, then by id, and their cells. `widths`: by joint, of its second position."""
    number_of = {one.id: number for held in candidates for number, one in enumerate(held)}
    links, cells = [], []
    for joint, width in zip(joints, widths, strict=True):
        meter.check()
        celled = sorted(
            ((number_of[link.parts[0]] * width + number_of[link.parts[1]], link.id, link) for link in joint.links),
            key=lambda row: row[:2],
        )
        links.append(tuple(link for _, _, link in celled))
        cells.append(tuple(cell for cell, _, _ in celled))
    return tuple(links), tuple(cells)


def _bits(ids: Iterable[str], closed: Mapping[str, int]) -> int:
    """Of these tasks and all that they come after."""
    mask = 0
    for id_ in ids:
        mask |= closed[id_]
    return mask


def _worn(
    conversion: Conversion, rows: Sequence[Sequence[OptionRow]], bit_of: Mapping[str, int], closed: Mapping[str, int]
) -> tuple[Worn, ...]:
    """The faults, by id."""
    on = _sources(rows)
    return tuple(
        Worn(
            fault,
            bit_of[fault.id],
            on.get(bit_of[fault.id], ()),
            _payers(rows, on.get(bit_of[fault.id], ())),
            fault.odds,
            fault.cash_hundredths * 100 + conversion.rate_hundredths * fault.hours_hundredths,
            _bits(fault.reach, closed),
        )
        for fault in sorted(conversion.faults, key=lambda fault: fault.id)
    )


def _rows(
    candidates: Sequence[Sequence[Candidate]],
    links: Sequence[Sequence[Link]],
    closed: Mapping[str, int],
    day_scale: int,
    doubts: Mapping[str, int],
) -> tuple[tuple[OptionRow, ...], ...]:
    """`doubts`: bits by candidate or link."""

    def row(one: CandidateOrLink, irreversible: int, changed: int, found: int) -> OptionRow:
        days = one.days.numerator * (day_scale // one.days.denominator) if one.days else 0
        tasks = _bits(one.tasks, closed) if one.tasks else 0
        return OptionRow(one.cash_hundredths, one.hours_hundredths, days, tasks, irreversible, changed, found)

    positions = [
        tuple([row(one, 0, not one.as_found, one.as_found << place | doubts.get(one.id, 0)) for one in held])
        for place, held in enumerate(candidates)
    ]
    joints = [tuple([row(one, one.irreversible, 0, doubts.get(one.id, 0)) for one in ways]) for ways in links]
    return (*positions, *joints)


def _fault_bits(conversion: Conversion, position_ids: Sequence[str]) -> dict[str, int]:
    """The bit of each fault: that of its position, or one of its own behind all of these."""
    place_of = {id_: place for place, id_ in enumerate(position_ids)}
    made = {fault.id: place_of[fault.position] for fault in conversion.faults if not fault.on}
    doubts = sorted(fault.id for fault in conversion.faults if fault.on)
    return made | {id_: len(position_ids) + number for number, id_ in enumerate(doubts)}


def _doubts(conversion: Conversion, bit_of: Mapping[str, int]) -> dict[str, int]:
    """Bits of the doubts that sit on a candidate or link."""
    made: dict[str, int] = {}
    for fault in conversion.faults:
        for choice in fault.on:
            made[choice] = made.get(choice, 0) | 1 << bit_of[fault.id]
    return made


def _sources(rows: Sequence[Sequence[OptionRow]]) -> dict[int, tuple[tuple[int, int], ...]]:
    """By bit: the (variable, option) that set it."""
    made: dict[int, list[tuple[int, int]]] = {}
    for variable, some in enumerate(rows):
        for option, row in enumerate(some):
            if row.found:
                for bit in places(row.found):
                    made.setdefault(bit, []).append((variable, option))
    return {bit: tuple(some) for bit, some in made.items()}


def _payers(rows: Sequence[Sequence[OptionRow]], on: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Of one variable only, so that no route is charged twice: the one of which the largest part is in doubt."""
    count: dict[int, int] = {}
    for variable, _ in on:
        count[variable] = count.get(variable, 0) + 1
    chosen = max(count, key=lambda variable: Fraction(count[variable], len(rows[variable])), default=-1)
    return tuple(one for one in on if one[0] == chosen)


def at_rate(compiled: Compiled, rate: Fraction) -> Compiled:
    """The same conversion with another bench rate (money per hour), which need not be a whole hundredth."""
    exact = rate * 100
    finer = replace(
        compiled,
        cash_weight=100 * exact.denominator,
        hours_weight=exact.numerator,
        money_scale=10_000 * exact.denominator,
    )
    worn = tuple(
        replace(one, repair=finer.money(one.fault.cash_hundredths, one.fault.hours_hundredths)) for one in compiled.worn
    )
    return replace(finer, worn=worn)


def _closed_tasks(tasks: Mapping[str, tuple[int, tuple[str, ...]]]) -> dict[str, int]:
    closed: dict[str, int] = {}

    def close(id_: str) -> int:
        if id_ not in closed:
            bit, after = tasks[id_]
            for before in after:
                bit |= close(before)
            closed[id_] = bit
        return closed[id_]

    for id_ in tasks:
        close(id_)
    return closed


def places(mask: int) -> list[int]:
    """The places of the set bits, lowest first."""
    found = []
    while mask:
        lowest = mask & -mask
        found.append(lowest.bit_length() - 1)
        mask ^= lowest
    return found

"""The route question as linear constraints over 0/1 variables, for any integer-programming solver.

Pure data: `Programme` holds named variables, rows `low <= sum(coefficient * variable) <= high` and the four objectives,
all with exact fractions. `cpsat` and `highs` hand it to their solvers.

Choices: one candidate per position; per joint, the links that use a candidate add up to that candidate. Tasks: done
when a choice needs them; any further task only inside a fault's whole reach that is laid open. Comeback: its product
terms are exact, by one 0/1 variable per set of unseen faults, which carries that whole set's comeback cost.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import combinations
from math import lcm

from tests.reference.reading import Document, candidates_of, closure, exact, links_of, price

Terms = dict[str, Fraction]
ONE = Fraction(1)


@dataclass(frozen=True)
class Row:
    """`low <= sum(terms) <= high`; a limit that is None does not bind."""

    terms: Mapping[str, Fraction]
    low: Fraction | None = None
    high: Fraction | None = None


@dataclass
class Programme:
    """All variables are 0/1 and named for what they say: pick ID, done ID, open FAULT, waits DAYS, unseen FAULTS."""

    variables: list[str] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    objectives: dict[str, Terms] = field(default_factory=dict)

    def add(self, terms: Terms, low: Fraction | int | None = None, high: Fraction | int | None = None) -> None:
        self.rows.append(Row(terms, None if low is None else Fraction(low), None if high is None else Fraction(high)))


@dataclass(frozen=True)
class WholeRow:
    """A row in whole numbers over columns; infinite limits are None."""

    columns: list[int]
    weights: list[int]
    low: int | None
    high: int | None


@dataclass(frozen=True)
class WholeProgramme:
    """The programme with every row and objective scaled to whole numbers: what a solver's model is built from.

    `objectives`: per name the weight of each column and the factor they were scaled by.
    """

    width: int
    rows: list[WholeRow]
    objectives: dict[str, tuple[list[int], int]]


def in_whole_numbers(programme: Programme) -> WholeProgramme:
    """The same programme, each row and objective times the least factor that makes it whole."""
    column = {name: number for number, name in enumerate(programme.variables)}
    rows = []
    for row in programme.rows:
        limits = [limit for limit in (row.low, row.high) if limit is not None]
        scale = lcm(*(value.denominator for value in (*row.terms.values(), *limits)))
        low, high = (None if limit is None else int(limit * scale) for limit in (row.low, row.high))
        weights = [int(value * scale) for value in row.terms.values()]
        rows.append(WholeRow([column[name] for name in row.terms], weights, low, high))
    objectives = {}
    for name, terms in programme.objectives.items():
        scale = lcm(*(value.denominator for value in terms.values()))
        objectives[name] = ([int(terms.get(each, 0) * scale) for each in programme.variables], scale)
    return WholeProgramme(len(column), rows, objectives)


def read_whole(document: Document) -> WholeProgramme:
    """The document as a programme in whole numbers."""
    return in_whole_numbers(build_programme(document))


def build_programme(document: Document) -> Programme:
    """The document as a programme with the objectives expected, total, cash and hours."""
    programme = Programme()
    choices = [*candidates_of(document), *links_of(document)]
    programme.variables += [f"pick {choice['id']}" for choice in choices]
    programme.variables += [f"done {task['id']}" for task in document.get("tasks", [])]
    _mating(document, programme)
    _doubts(document, programme)
    _assumed(document, programme, choices)
    _tasks(document, programme, choices)
    _chains(document, programme, choices)
    _rules(document, programme)
    _features(document, programme, choices)
    _deadline(document, programme, choices)
    _objectives(document, programme, choices)
    return programme


def _pick(name: str) -> str:
    return f"pick {name}"


def _mating(document: Document, programme: Programme) -> None:
    at = {position["id"]: [each["id"] for each in position["candidates"]] for position in document["positions"]}
    for candidates in at.values():
        programme.add({_pick(name): ONE for name in candidates}, 1, 1)
    for joint in document.get("joints", []):
        programme.add({_pick(link["id"]): ONE for link in joint["links"]}, 1, 1)
        for side, position in enumerate(joint["between"]):
            for name in at[position]:
                using = {_pick(link["id"]): ONE for link in joint["links"] if link["parts"][side] == name}
                programme.add({**using, _pick(name): -ONE}, 0, 0)


def _doubts(document: Document, programme: Programme) -> None:
    """A doubt is there where one of the picks that it sits on is made, and only there."""
    for fault in document.get("faults", []):
        if "on" in fault:
            there, picks = f"there {fault['id']}", {_pick(name): -ONE for name in fault["on"]}
            programme.variables.append(there)
            programme.add({there: ONE, **picks}, None, 0)
            for pick in picks:
                programme.add({there: ONE, pick: -ONE}, 0)


def _is_due(fault: Document) -> bool:
    return "on" in fault and exact(fault["odds"]) == 1


def _assumed(document: Document, programme: Programme, choices: list[Document]) -> None:
    if document.get("most_assumed") is not None:
        assumed = {_pick(choice["id"]): ONE for choice in choices if choice.get("assumed")}
        programme.add(assumed, None, exact(document["most_assumed"]))


def _tasks(document: Document, programme: Programme, choices: list[Document]) -> None:
    causes: dict[str, Terms] = {task["id"]: {} for task in document.get("tasks", [])}
    for choice in choices:
        for task in closure(document, choice.get("tasks", [])):
            programme.add({f"done {task}": ONE, _pick(choice["id"]): -ONE}, 0)
            causes[task][_pick(choice["id"])] = -ONE
    for fault in document.get("faults", []):
        opened = f"open {fault['id']}"
        programme.variables.append(opened)
        for task in closure(document, fault.get("reach", [])):
            programme.add({f"done {task}": ONE, opened: -ONE}, 0)
            causes[task][opened] = -ONE
            if _is_due(fault):
                programme.add({f"done {task}": ONE, f"there {fault['id']}": -ONE}, 0)
                causes[task][f"there {fault['id']}"] = -ONE
    for task, terms in causes.items():
        programme.add({f"done {task}": ONE, **terms}, None, 0)


def _chains(document: Document, programme: Programme, choices: list[Document]) -> None:
    for chain in document.get("chains", []):
        terms = {
            _pick(each["id"]): exact(each["shifts"][chain["id"]])
            for each in choices
            if chain["id"] in each.get("shifts", {})
        }
        start, low, high = exact(chain.get("start")), chain.get("low"), chain.get("high")
        left_open = [_pick(each["id"]) for each in choices if chain["id"] in each.get("unmeasured", [])]
        if low is not None:
            far = abs(exact(low)) + abs(start) + sum(map(abs, terms.values()))
            programme.add(_moved(terms, left_open, far), exact(low) - start, None)
        if high is not None:
            far = abs(exact(high)) + abs(start) + sum(map(abs, terms.values()))
            programme.add(_moved(terms, left_open, -far), None, exact(high) - start)


def _moved(terms: Terms, left_open: list[str], far: Fraction) -> Terms:
    """The same sum, but so far inside the limit that it cannot be passed where a pick leaves the chain open."""
    return terms | {pick: terms.get(pick, Fraction(0)) + far for pick in left_open}


def _rules(document: Document, programme: Programme) -> None:
    for rule in document.get("rules", []):
        when = _pick(rule["when"])
        if rule.get("needs_any") and rule["when"] not in rule["needs_any"]:
            programme.add({**{_pick(name): ONE for name in rule["needs_any"]}, when: -ONE}, 0)
        for name in rule.get("excludes", []):
            bearing = {when, _pick(name), *map(_pick, rule.get("also", []))}
            programme.add(dict.fromkeys(bearing, ONE), None, len(bearing) - 1)


def _features(document: Document, programme: Programme, choices: list[Document]) -> None:
    for feature in document.get("features", []):
        programme.add({_pick(each["id"]): ONE for each in choices if feature in each.get("features", [])}, 1)


def _deadline(document: Document, programme: Programme, choices: list[Document]) -> None:
    """For each length of waiting: if anything waits that long, waiting and work keep the deadline."""
    if document.get("deadline") is None:
        return
    things = {_pick(each["id"]): each for each in choices} | {f"done {each['id']}": each for each in document["tasks"]}
    things |= _due_things(document)
    day_hours = exact(document.get("day_hours", 8))
    work = {name: exact(each.get("hours")) / day_hours for name, each in things.items()}
    deadline = exact(document["deadline"])
    programme.add(dict(work), None, deadline)
    for days in sorted({exact(each.get("days")) for each in things.values()} - {Fraction(0)}):
        waits = f"waits {days}"
        programme.variables.append(waits)
        for name, each in things.items():
            if exact(each.get("days")) >= days:
                programme.add({waits: ONE, name: -ONE}, 0)
        programme.add({**work, waits: days}, None, deadline)


def _objectives(document: Document, programme: Programme, choices: list[Document]) -> None:
    things = {_pick(each["id"]): each for each in choices}
    things |= {f"done {each['id']}": each for each in document.get("tasks", [])}
    things |= _due_things(document)
    total = {name: price(document, each) for name, each in things.items()}
    programme.objectives = {
        "cash": {name: exact(each.get("cash")) for name, each in things.items()},
        "hours": {name: exact(each.get("hours")) for name, each in things.items()},
        "total": total,
        "expected": {**total, **_fault_terms(document, programme, total)},
    }


def _due_things(document: Document) -> dict[str, Document]:
    return {f"there {fault['id']}": fault for fault in document.get("faults", []) if _is_due(fault)}


def _fault_terms(document: Document, programme: Programme, total: Terms) -> Terms:
    """Repair on the as-found picks or where the doubt is there (added to `total`'s own coefficients), and the comeback
    of each unseen set.
    """
    faults = [fault for fault in document.get("faults", []) if not _is_due(fault)]
    terms: Terms = {}
    found = {fault["id"]: _there(document, fault) for fault in faults}
    for fault in faults:
        for name in found[fault["id"]]:
            terms[name] = terms.get(name, total.get(name, Fraction(0))) + exact(fault["odds"]) * price(document, fault)
    live = [fault for fault in faults if found[fault["id"]]]
    sets = [chosen for size in range(len(live) + 1) for chosen in combinations(live, size)]
    names = [f"unseen {' '.join(fault['id'] for fault in chosen)}" for chosen in sets]
    programme.variables += names
    programme.add(dict.fromkeys(names, ONE), 1, 1)
    for fault in live:
        unseen = {name: ONE for name, chosen in zip(names, sets, strict=True) if fault in chosen}
        laid_open = {f"open {fault['id']}": ONE} if fault.get("shows") else {}
        programme.add({**unseen, **laid_open, **dict.fromkeys(found[fault["id"]], -ONE)}, 0)
    return terms | {name: _comeback(document, chosen) for name, chosen in zip(names, sets, strict=True)}


def _there(document: Document, fault: Document) -> list[str]:
    if "on" in fault:
        return [f"there {fault['id']}"]
    position = fault["position"]
    place = next(each for each in document["positions"] if each["id"] == position)
    return [_pick(each["id"]) for each in place["candidates"] if each.get("as_found")]


def _comeback(document: Document, unseen: tuple[Document, ...]) -> Fraction:
    cost = Fraction(0)
    for task in document.get("tasks", []):
        spared = ONE
        for fault in unseen:
            if task["id"] in closure(document, fault.get("reach", [])):
                spared *= 1 - exact(fault["odds"])
        cost += price(document, task) * (1 - spared)
    return cost

"""Which single part, on the shelf, opens most routes over a list of questions?

A part opens a question that has no route within the budget (and its own deadline) as things stand, and has one with
the part in hand. Only parts that the reading met can do so: those without a price, and those that a candidate or link
would buy. Each question stands by itself, so an engine spreads them over processes (`engines`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice

from graph.conversion.known import on_what_is_known
from graph.reach.engines import Engine
from graph.reading import CatalogueIndex, Question, Reading, read_conversion
from graph.reading.model import NO_PRICE
from graph.search import solve

AHEAD = 2  # questions handed out for each that is worked on
ASKED_EVERY_S = 0.25


@dataclass(frozen=True, slots=True)
class Opened:
    """One question: whether it has a route already, and else the parts of which any one opens it."""

    question: Question
    has_route: bool
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Shelved:
    """A part and the places in the list of the questions that it opens."""

    part: str
    questions: tuple[int, ...]


def parts_that_open(index: CatalogueIndex, question: Question, budget: Fraction | None = None) -> Opened:
    """Tries every part that the reading met. `budget`: the most that the objective may come to."""
    reading = read_conversion(index, question)
    if _reachable(reading, budget):
        return Opened(question, True)
    opening = []
    for part in _met(index, reading):
        if part not in question.own:
            with_it = read_conversion(index, replace(question, own=(*question.own, part)))
            if _reachable(with_it, budget):
                opening.append(part)
    return Opened(question, False, tuple(opening))


def _met(index: CatalogueIndex, reading: Reading) -> list[str]:
    """Parts left out for want of a price, and parts that would be bought."""
    found = {out.what for out in reading.left_out if out.reason == NO_PRICE}
    for candidate in reading.candidates.values():
        if candidate.part is not None:
            found.add(candidate.part.id)
    for link in reading.links.values():
        found.update(part.id for part in link.via)
    # What was only computed (a sleeve to be made) nobody can have lain by.
    return sorted(part for part in found.difference(reading.question.avoid) if part in index.catalogue.parts)


def _reachable(reading: Reading, budget: Fraction | None) -> bool:
    """A route that only holds if something does opens nothing."""
    conversion = None if reading.open_joints else on_what_is_known(reading.conversion)
    if conversion is None:
        return False
    objective = reading.question.objective
    routes = solve(conversion, objective, 0, with_front=False, with_look_first=False, with_reasons=False).routes
    if not routes or budget is None:
        return bool(routes)
    best = routes[0]
    hundredths = {"cash": best.cash_hundredths, "hours": best.hours_hundredths}
    value = Fraction(hundredths[objective], 100) if objective in hundredths else getattr(best, objective)
    return bool(value <= budget)


def rank_parts(opened: Mapping[int, Opened]) -> tuple[Shelved, ...]:
    """The parts by how many questions each opens, most first; ties by id. `opened`: by place in the list."""
    places: dict[str, list[int]] = {}
    for place in sorted(opened):
        for part in opened[place].parts:
            places.setdefault(part, []).append(place)
    return tuple(Shelved(part, tuple(places[part])) for part in sorted(places, key=lambda p: (-len(places[p]), p)))


def spread(
    engine: Engine, questions: Sequence[Question], budget: Fraction | None = None,
    stopped: Callable[[], bool] = lambda: False,
) -> Iterator[tuple[int, Opened]]:  # fmt: skip
    """(place in the list, what opens it), as each is done. Ends early once `stopped` says so; asked a few times a
    second. Only a few questions are handed to the engine ahead, so that little is left to do when it ends."""
    left = iter(enumerate(questions))
    waiting: dict[Future[Opened], int] = {}
    try:
        while not stopped():
            for place, question in islice(left, engine.at_once * AHEAD - len(waiting)):
                waiting[engine.submit(parts_that_open, question, budget)] = place
            if not waiting:
                return
            done, _ = wait(waiting, ASKED_EVERY_S, FIRST_COMPLETED)
            for one in done:
                yield waiting.pop(one), one.result()
    finally:
        for one in waiting:
            one.cancel()

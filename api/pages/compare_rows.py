"""The rows in which routes are compared side by side: sums, amounts, dimensions, and what is said of each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.answer import words
from graph.answer.assumed import shortly
from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.sums import (
    EXPECTED,
    IF_ALL_HOLDS,
    NINE_IN_TEN,
    TOTAL,
    hope_of,
    least_cash,
    least_days,
    least_hours,
    sum_label,
)

NONE = "none"


@dataclass(frozen=True, slots=True)
class Cell:
    """What one route has in a row: its `lines`; `least`: no other route has less."""

    lines: tuple[str, ...]
    least: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One property of the routes: its `label` and its `cells`, one for each route; `short`: numbers, not sentences."""

    label: str
    cells: tuple[Cell, ...]
    short: bool = False


def differs_in(row: Row) -> bool:
    """Whether any route has something else there than the first."""
    return any(cell.lines != row.cells[0].lines for cell in row.cells)


def compared_rows(answer: Answer) -> list[Row]:
    """All rows, in the order in which they stand."""
    routes, money = answer.routes, answer.currency

    def amounts(label: str, value: Callable[[AnsweredRoute], Fraction], said: Callable[[AnsweredRoute], str]) -> Row:
        known = [route for route in routes if not route.assumptions] or list(routes)
        least = min(map(value, known), default=Fraction(0))
        apart = len(set(map(value, routes))) > 1
        cells = ((f"{hope_of(r)}{said(r)}", apart and r in known and value(r) == least) for r in routes)
        return Row(label, tuple(Cell((told,), best) for told, best in cells), True)

    def texts(label: str, said: Callable[[AnsweredRoute], Sequence[str]]) -> Row:
        return Row(label, tuple(Cell(tuple(said(route)) or (NONE,)) for route in routes))

    return [
        texts("Verdict", _verdict_lines),
        *(_sum_row(answer, what) for what in (EXPECTED, IF_ALL_HOLDS, TOTAL, NINE_IN_TEN) if _is_in(answer, what)),
        amounts("Cash", lambda r: Fraction(r.cash_hundredths), lambda r: least_cash(r, money)),
        *_on_the_day(answer, amounts),
        amounts("Bench hours", lambda r: Fraction(r.hours_hundredths), least_hours),
        amounts("Days until ready", lambda r: r.days, least_days),
        *(_side_effect(answer, chain) for chain in _chains(answer)),
        texts("Features gained", lambda r: [feature.label for feature in r.features_gained]),
        texts("Cannot be undone", lambda r: r.irreversible),
        texts("Likely faults", lambda r: [f"{fault.label}: {fault.words}" for fault in r.faults]),
        texts("Assumed", lambda r: [line.text for line in shortly(r.assumptions)]),
        texts("To confirm before spending money", lambda r: r.to_confirm),
        texts("Weakest evidence on the way", lambda r: [r.weakest_evidence_words] if r.weakest_evidence_words else []),
    ]  # fmt: skip


def _is_in(answer: Answer, what: str) -> bool:
    return any(line.what == what for route in answer.routes for line in route.sums)


def _sum_row(answer: Answer, what: str) -> Row:
    """One sum of every route, the least of those marked that assume nothing, if any does."""
    lines = [next((line for line in route.sums if line.what == what), None) for route in answer.routes]
    known = [line for line, route in zip(lines, answer.routes, strict=True) if not route.assumptions]
    values = [line.value for line in (known if any(known) else lines) if line is not None]
    apart = len({line.value for line in lines if line is not None}) > 1
    cells = (
        Cell((NONE,)) if line is None
        else Cell((line.words,), apart and (line in known or not any(known)) and line.value == min(values))
        for line in lines
    )  # fmt: skip
    return Row(sum_label(what, answer.routes), tuple(cells), True)


def _on_the_day(answer: Answer, amounts: Callable[..., Row]) -> list[Row]:
    if all(route.on_the_day_hundredths <= route.cash_hundredths for route in answer.routes):
        return []
    return [
        amounts(
            "Cash on the day, with core deposits", lambda r: Fraction(r.on_the_day_hundredths),
            lambda r: words.cash(r.on_the_day_hundredths, answer.currency),
        )
    ]  # fmt: skip


def _verdict_lines(route: AnsweredRoute) -> list[str]:
    return [words.sentence(route.verdict), *(["if what is to confirm holds"] if route.provisional else [])]


def _chains(answer: Answer) -> list[tuple[str, str]]:
    return list(dict.fromkeys((effect.chain, effect.label) for route in answer.routes for effect in route.side_effects))


def _side_effect(answer: Answer, chain: tuple[str, str]) -> Row:
    """The dimension in every route: its value and margin. What moves it stands on the route's own page."""

    def lines(route: AnsweredRoute) -> tuple[str, ...]:
        for effect in route.side_effects:
            if effect.chain == chain[0]:
                if effect.value_um is None:
                    return "not known", f"missing: {words.listed(effect.missing)}"
                value = words.millimetres(effect.value_um)
                margin = "" if effect.margin_um is None else f"margin {words.millimetres(effect.margin_um)}, "
                return value, f"{margin}{effect.how_surely}"
        return ("does not arise",)

    return Row(words.sentence(chain[1]), tuple(Cell(lines(route)) for route in answer.routes), True)

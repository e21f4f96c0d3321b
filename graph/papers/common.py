"""Sections that several papers share."""

from __future__ import annotations

from graph.answer import words
from graph.answer.assumed import TELLING, shortly, told_shortly
from graph.answer.demanded import told
from graph.answer.model.answer import Answer
from graph.answer.model.doubt import MeasureFirst
from graph.answer.model.fit import SideEffect
from graph.answer.model.route import AnsweredRoute
from graph.papers.details import Details
from graph.papers.lengths import length
from graph.papers.model import Block, Facts, Points, Section, Table, Text
from graph.papers.sheets import rows_of

BOX = "\u2610"
FILLED = ("oil", "oil-level")  # checks that stand among the settings


def identity(answer: Answer, details: Details) -> Section:
    """Whose job and which units: only what is known, for a head without anything behind it says nothing."""
    rows = (
        ("Workshop", details.shop),
        ("Customer", details.customer),
        ("Vehicle", details.vehicle),
        ("Gearbox", answer.gearbox.label),
        ("Engine", answer.engine.label),
        ("Identified by", details.identified_by),
        ("Wish or fault", details.wish),
    )
    return Section("Job", (Facts(tuple(row for row in rows if row[1])),))


def cautions_of(answer: Answer, route: AnsweredRoute) -> tuple[str, ...]:
    """Every caution of the answer and its steps, once, in order."""
    looking = answer.look_first.cautions if answer.look_first is not None else ()
    return tuple(dict.fromkeys([*answer.cautions, *looking, *(text for step in route.steps for text in step.cautions)]))


def safety_lines(assembly: str) -> tuple[str, ...]:
    """The lines of every job sheet, with those of this kind of job (`assembly`: its id) and of no other."""
    return tuple(row["line"] for row in rows_of("safety_lines") if not row["jobs"] or assembly in row["jobs"].split())


def assumptions_section(answer: Answer, route: AnsweredRoute) -> Section | None:
    """What the route takes for given though nobody has stated it: to be found out, and written down, before work."""
    if not route.assumptions and not answer.asks:
        return None
    blocks: list[Block] = [Points(answer.asks)] if answer.asks else []
    ways = {line.words: told_shortly(one.words for one in line.settles) for line in shortly(route.assumptions)}
    if route.assumptions:
        rows = tuple((BOX, f"{told}\nTo settle it: {how or 'not said'}", "") for told, how in ways.items())
        head = ("Done", "Assumed, and what settles it: find it out before work starts", "Found, whether it holds")
        blocks += [Text("Every sum holds only if this does."), Table(head, rows, (11, 137, 34))]
    if answer.measure_first:
        shown = "; ".join(ways.values())
        first = tuple((BOX, _to_measure(line, shown)) for line in answer.measure_first[:TELLING])
        blocks.append(Table(("Done", "Measure first"), first, (11, 171)))
    return Section("What is assumed", tuple(blocks), caution=True)


def _to_measure(line: MeasureFirst, shown: str) -> str:
    """What to measure; with what, where that does not stand above already."""
    how = told_shortly(one.words for one in line.readings if one.inspection == line.inspection and one.quantity)
    return line.words.replace(f"; {how}", "; how: above", 1) if how and how in shown else line.words


def demands_section(route: AnsweredRoute) -> Section | None:
    """What the question demands and the route comes to, each with its sum."""
    if not route.demands:
        return None
    return Section("What was asked of it", (Points(tuple(map(told, route.demands))),))


def lengths_section(route: AnsweredRoute, units: str) -> Section | None:
    """The dimensions that the route moves, with limits and margins, and room for what was measured."""
    if not route.side_effects:
        return None
    rows = tuple(
        (
            effect.label, length(effect.value_um, units) or "not known", allowed(effect, units), _sure(effect, units),
            "",
        )
        for effect in route.side_effects
    )  # fmt: skip
    head = ("Length", "Reckoned", "Allowed", "Margin, and how surely", "Measured")
    said = (
        "Either way: how far the true length may lie from the reckoned one, at worst and by the root of the sum of"
        " squares (RSS). Thin: read again before anything is cut."
    )
    return Section("Lengths that add up", (Text(said), Table(head, rows, (35, 27, 58, 47, 15))))


def allowed(effect: SideEffect, units: str) -> str:
    """The limits of a dimension in words."""
    low, high = length(effect.low_um, units), length(effect.high_um, units)
    if low and high:
        return f"{low} to {high}"
    return f"from {low}" if low else f"up to {high}" if high else "any"


def _sure(effect: SideEffect, units: str) -> str:
    if effect.value_um is None:
        return f"not known: measure {words.listed(effect.missing)}"
    if effect.margin_um is None:
        return effect.how_surely
    text = f"{length(effect.margin_um, units)}: {effect.how_surely}"
    if effect.worst_case_um is None or effect.rss_um is None:
        return text
    return f"{text}; either way {length(effect.worst_case_um, units)}, RSS {length(effect.rss_um, units)}"


def checks_section(route: AnsweredRoute) -> Section | None:
    """What is put together, checked, and what a core has to be; what is filled and set stands among the settings."""
    lines = [f"{line.label}: {line.words}" for line in route.checks if line.check not in FILLED]
    lines += route.core_terms
    return Section("Checks", (Points(tuple(lines)),)) if lines else None

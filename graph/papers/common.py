"""Sections that several papers share."""

from __future__ import annotations

from collections.abc import Iterable

from graph.answer import words
from graph.answer.assumed import TELLING, shortly, told_shortly
from graph.answer.demanded import told
from graph.answer.model import Answer, AnsweredRoute, SideEffect
from graph.papers.details import Details
from graph.papers.lengths import length
from graph.papers.model import Blank, Block, Facts, Points, Section, Table, Text
from graph.papers.sheets import rows_of


def identity(answer: Answer, details: Details) -> Section:
    """Whose job, which units, and how they were identified."""
    rows = (
        ("Workshop", details.shop),
        ("Customer", details.customer),
        ("Vehicle", details.vehicle),
        ("Gearbox", f"{answer.gearbox.label} ({answer.gearbox.id})"),
        ("Engine", f"{answer.engine.label} ({answer.engine.id})"),
        ("Identified by", details.identified_by),
        ("Wish or fault", details.wish),
    )
    return Section("Job", (Facts(rows),))


def cautions_of(answer: Answer, route: AnsweredRoute) -> tuple[str, ...]:
    """Every caution of the answer and its steps, once, in order."""
    looking = answer.look_first.cautions if answer.look_first is not None else ()
    return tuple(dict.fromkeys([*answer.cautions, *looking, *(text for step in route.steps for text in step.cautions)]))


def caution_section(answer: Answer, route: AnsweredRoute, lines: Iterable[str] = ()) -> Section:
    """The cautions, with further lines."""
    return Section("Cautions", (Points(tuple(dict.fromkeys([*cautions_of(answer, route), *lines]))),), caution=True)


def safety_lines() -> tuple[str, ...]:
    """The lines that every job sheet carries."""
    return tuple(row["line"] for row in rows_of("safety_lines"))


def evidence_section(route: AnsweredRoute) -> Section | None:
    """How the weakest link of the route is known; nothing if nothing is stated."""
    if not route.weakest_evidence_words:
        return None
    return Section("How it is known", (Text(f"Weakest evidence on the way: {route.weakest_evidence_words}."),))


def assumptions_section(answer: Answer, route: AnsweredRoute) -> Section | None:
    """What the route takes for given though nobody has stated it: to be found out, and written down, before work."""
    if not route.assumptions and not answer.asks:
        return None
    blocks: list[Block] = [Points(answer.asks)] if answer.asks else []
    if route.assumptions:
        rows = tuple(
            (line.words, told_shortly(one.words for one in line.settles) or "not said", "", "")
            for line in shortly(route.assumptions)
        )
        head = ("Assumed", "What settles it", "Found", "Holds (yes, no)")
        blocks += [Text("Every sum holds only if this does."), Table(head, rows, (84, 56, 24, 18))]
    if answer.measure_first:
        blocks += [
            Text("Measure first:"),
            Points(tuple(line.words for line in answer.measure_first[:TELLING]), tick=True),
        ]
    return Section("What is assumed", tuple(blocks), caution=True)


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
            effect.label, "; ".join(each.label for each in effect.moved_by),
            length(effect.value_um, units) or "not known",
            length(effect.low_um, units), length(effect.high_um, units), length(effect.margin_um, units),
            length(effect.worst_case_um, units) or "not stated", length(effect.rss_um, units) or "not stated",
            _surely(effect), "",
        )
        for effect in route.side_effects
    )  # fmt: skip
    head = ("Length", "Moved by", "Reckoned", "Lowest", "Highest", "Margin", "Worst case", "RSS", "How surely",
            "Measured")  # fmt: skip
    words = (
        "Margin: the way to the nearer limit. Worst case and RSS (root sum of squares): how far the true length may "
        "lie from the reckoned one, either way; a margin below them is thin."
    )
    return Section(
        "Lengths that add up",
        (
            Text(words),
            Table(head, rows, (26, 18, 18, 18, 18, 18, 18, 16, 14, 16)),
        ),
    )


def _surely(effect: SideEffect) -> str:
    """Holds, thin, or unknown: a margin is never said without how surely it is known."""
    if effect.value_um is None:
        return f"not known: measure {words.listed(effect.missing)}"
    if effect.margin_um is None:
        return ""
    doubt = effect.worst_case_um or 0
    if effect.verdict != "holds" or effect.margin_um < doubt:
        return "thin: measure again"
    return "holds" if effect.worst_case_um is not None else "as stated"


def blanks(*labels: str) -> tuple[Block, ...]:
    """One line to write on for each label."""
    return tuple(Blank(label) for label in labels)

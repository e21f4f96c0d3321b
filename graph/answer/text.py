"""An answer as text for a terminal: tables and short paragraphs, in colour only where the console has it.

`print_answer` writes to a rich console; `answer_as_text` gives the same without colour.
Text from facts is never read as console markup.
"""

from __future__ import annotations

import io
from collections.abc import Iterable

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from graph.answer import words
from graph.answer.asked_units import deposit_words
from graph.answer.assumed import TELLING, shortly, told_shortly
from graph.answer.demanded import told
from graph.answer.model.answer import Answer
from graph.answer.model.fit import DIRECT
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import STAGES, PartLine, Step
from graph.answer.sums import (
    EXPECTED,
    IF_ALL_HOLDS,
    NINE_IN_TEN,
    at_least_words,
    hope_of,
    hours_of_step,
    least_cash,
    least_days,
    least_hours,
    least_of,
    no_average,
)
from graph.answer.why_here import leaving, why_here
from graph.reading.conditions import TO_CONFIRM

STAGE_WORDS = {
    "strip": "What comes off",
    "send out": "What is ordered or sent out",
    "bench": "On the bench",
    "refit": "What goes back",
}
WIDTH_WITHOUT_TERMINAL = 100
ALL_IN_JSON = "--json lists all"


def answer_as_text(answer: Answer, width: int = WIDTH_WITHOUT_TERMINAL) -> str:
    """The answer as plain text, at most `width` characters wide."""
    page = io.StringIO()
    print_answer(answer, Console(file=page, width=width, color_system=None, highlight=False))
    return "\n".join(line.rstrip() for line in page.getvalue().splitlines()) + "\n"


def print_answer(answer: Answer, console: Console, with_why: bool = False) -> None:
    """Writes the best route in full, the others in a line each, then what bears on the choice.

    `with_why`: also why each step stands where it does.
    """
    console.print(Text(answer.headline, style="bold"))
    _print_list(console, "Say first", answer.asks)
    if answer.routes:
        console.print(Text(answer.routes[0].summary))
        _print_list(console, "Confirm before spending money", answer.routes[0].to_confirm)
    if answer.look_first:
        _print_list(console, "Look first", (answer.look_first.words, *answer.look_first.odds_words))
        _print_list(console, "When looking, take care", answer.look_first.cautions)
    _print_list(console, "Measure first", (line.words for line in answer.measure_first[:TELLING]))
    if answer.routes:
        _print_route(answer, answer.routes[0], console)
        _print_list(console, "Why the steps stand in this order", _order_lines(answer.routes[0]) if with_why else ())
        _print_comparison(answer, console)
        for place, route in enumerate(answer.routes[1:], start=1):
            print_assumed(console, route, answer.routes[:place])
    else:
        _print_list(console, "The nearest way", (way.words for way in answer.nearest))
        _print_open(answer, console)
    _print_list(console, "Or leave it", (answer.instead.words,) if answer.instead else ())
    _print_list(console, "Not finished in time", answer.unfinished)
    _print_list(console, "What would change the answer", _change_lines(answer))
    _print_list(console, "Measure, because nothing is known yet", answer.to_measure)
    _print_list(console, "Disputed", (dispute.words for dispute in answer.disputes))
    _print_list(console, "Left out", (out.why for out in answer.left_out))
    _print_list(console, "Notes left out", (f"note {each.note}: {each.reason}" for each in answer.notes_left_out))
    _print_list(console, "Taken for granted", answer.assumptions)
    _print_list(console, "Take care", answer.cautions)


def _print_list(console: Console, heading: str, lines: Iterable[str]) -> None:
    found = [line for line in lines if line]
    if found:
        console.print()
        console.print(Text(heading, style="bold"))
        for line in found:
            console.print(_hanging(line))


def _hanging(line: str) -> Table:
    """A paragraph behind a dash, its later lines indented."""
    grid = Table.grid(padding=(0, 1, 0, 0), pad_edge=False)
    grid.add_row(Text(" -"), Text(line))
    return grid


def _table(*columns: tuple[str, str]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name, side in columns:
        table.add_column(name, justify="right" if side == "right" else "left", overflow="fold")
    return table


def _print_route(answer: Answer, route: AnsweredRoute, console: Console) -> None:
    console.print()
    _print_steps(answer, route, console)
    console.print()
    console.print(Text(_sums(answer, route)))
    _print_parts(answer, route, console)
    print_assumed(console, route)
    _print_list(console, "Joints", _joint_lines(route))
    _print_list(console, "Side effects", (f"{effect.label}: {effect.words}" for effect in route.side_effects))
    _print_list(console, "Asked of it", map(told, route.demands))
    _print_list(console, "Torque", (f"{line.what}: {line.words}" for line in route.capacities))
    _print_list(console, "Checks", (f"{line.label}: {line.words}" for line in route.checks))
    _print_list(console, "To set anew", (f"{line.label} ({line.why}): {line.words}" for line in route.to_set))
    _print_list(console, "Core to give back", route.core_terms)
    _print_list(console, "Bearing life", (line.words for line in route.bearing_lives))
    _print_list(console, "Likely faults", (f"{fault.label}: {fault.words}" for fault in route.faults))
    _print_list(console, "Features gained", (feature.label for feature in route.features_gained))
    _print_list(console, "Cannot be undone", route.irreversible)
    _print_list(console, "Weakest evidence on the way", (route.weakest_evidence_words,))


def print_assumed(console: Console, route: AnsweredRoute, told: Iterable[AnsweredRoute] = ()) -> None:
    """What the route takes for given, and what would settle each of it; what a route `told` before takes, by count."""
    known = {line.words for other in told for line in shortly(other.assumptions, ALL_IN_JSON)}
    lines = []
    shown = shortly(route.assumptions, ALL_IN_JSON)
    for line in shown:
        if line.words not in known:
            how = told_shortly(settling.words for settling in line.settles)
            lines.append(line.words + (f". To settle it: {how}" if how else ""))
    if count := len(shown) - len(lines):
        lines.append(f"{count} of what routes before it assume")
    _print_list(console, f"Route {route.rank} assumes", lines)


def _print_steps(answer: Answer, route: AnsweredRoute, console: Console) -> None:
    table = _table(("", "right"), ("Step", "left"), ("Cash", "right"), ("Hours", "right"), ("Days", "right"))
    stage = ""
    for step in route.steps:
        if step.stage != stage:
            stage = step.stage
            table.add_row("", Text(STAGE_WORDS[stage], style="bold"), "", "", "")
        table.add_row(str(step.number), _step_text(step), *_amounts(step))
    total = Text("Sum", style="bold")
    table.add_row("", total, least_cash(route), least_hours(route), "")
    console.print(table)


def _order_lines(route: AnsweredRoute) -> Iterable[str]:
    return (f"{step.number} {step.text}. {'; '.join(why_here(step))}" for step in route.steps)


def _amounts(step: Step) -> tuple[str, str, str]:
    return (
        words.cash(step.cash_hundredths) if step.cash_hundredths else "",
        hours_of_step(step),
        words.days(step.days) if step.days else "",
    )


def _step_text(step: Step) -> Group:
    """The step's words, then what bears on it, indented."""
    lines: list[RenderableType] = [Text(step.text)]

    def add(text: str, style: str = "") -> None:
        lines.append(Padding(Text(text, style=style), (0, 0, 0, 2)))

    for condition in step.conditions:
        add(f"{condition.text}: {condition.state}", "yellow" if condition.state == TO_CONFIRM else "")
    for line in leaving(step):
        add(line)
    for check in step.checks:
        add(f"check: {check}")
    for note in step.notes:
        add(f"rests on {note.id}: {note.level or 'nothing noted'}", "dim")
    if step.disputed:
        add("DISPUTED: notes contradict each other", "yellow")
    if step.irreversible:
        add("cannot be undone", "yellow")
    for caution in step.cautions:
        add(f"CAUTION: {caution}", "yellow")
    return Group(*lines)


def _sums(answer: Answer, route: AnsweredRoute) -> str:
    money = answer.currency
    if not answer.rate_stated:
        cost = words.priced(route.total, route.hours_hundredths, money, False)
        faults = f", and {words.money(route.expected - route.total, money)} for likely faults" if route.faults else ""
        return f"{'If it holds: ' if route.assumptions else ''}{cost}; {words.days(route.days)}{faults}."
    rate = words.cash(answer.rate_hundredths, money)
    if route.assumptions:
        return "\n".join(_sums_assuming(route, rate))
    return (
        f"Total {words.money(route.total, money)} = {words.cash(route.cash_hundredths)} cash"
        f" + {words.hours(route.hours_hundredths)} at {rate} per hour; {words.days(route.days)}.\n"
        f"With likely faults {words.money(route.expected, money)} expected"
        f" (parts {words.money(route.split.parts)}, sent out {words.money(route.split.sublet)},"
        f" bench {words.money(route.split.bench)}, faults {words.money(route.split.likely_faults)});"
        f" half of such jobs cost at most {words.money(route.p50, money)}, nine in ten {words.money(route.p90, money)}"
        f"{rounded(route)}."
    )


def _sums_assuming(route: AnsweredRoute, rate: str) -> Iterable[str]:
    """Each sum with what it is, the first with what it is made of; then what is in none of them."""
    said = {line.what: line for line in route.sums}
    total = route.sums[0]
    yield (
        f"{total.label}: {total.words} = {words.cash(route.cash_hundredths)} cash +"
        f" {words.hours(route.hours_hundredths)} at {rate} per hour; {words.days(route.days)}."
    )
    yield from (
        f"{said[what].label}: {said[what].words}." for what in (IF_ALL_HOLDS, EXPECTED, NINE_IN_TEN) if what in said
    )
    why = no_average(route)
    yield from filter(None, [f"{words.sentence(why)}." if why else "", at_least_words(route)])


def rounded(route: AnsweredRoute) -> str:
    """Where half and nine in ten of the jobs are not counted exactly, what they cost at least; else nothing."""
    if route.p50_least is None or route.p90_least is None:
        return ""
    least = (words.money(route.p50_least), words.money(route.p90_least))
    return f" (rounded up; not less than {least[0]} and {least[1]})"


def _joint_lines(route: AnsweredRoute) -> list[str]:
    """The joints that take work or are still open to doubt; the rest in one line."""
    told = [joint for joint in route.joints if joint.verdict != DIRECT and not joint.assumed]
    lines = [
        f"{joint.label}: {joint.way} ({joint.verdict}; {joint.evidence_words})"
        + (f"; as they are they do not fit: {joint.misfit}" if joint.misfit else "")
        for joint in told
    ]
    taken = [joint.label for joint in route.joints if joint.assumed]
    rest = [joint.label for joint in route.joints if joint.verdict == DIRECT]
    lines += [f"taken to close as they are, nothing noted: {words.listed(taken)}"] if taken else []
    return [*lines, f"as they are: {words.listed(rest)}"] if rest else lines


def _print_parts(answer: Answer, route: AnsweredRoute, console: Console) -> None:
    if not route.parts:
        return
    console.print()
    table = _table(
        ("Parts to get", "left"), ("Number", "left"), ("Condition", "left"), ("Price", "right"), ("Lead", "right")
    )
    for part in route.parts:
        price = "" if part.price_hundredths is None else words.cash(part.price_hundredths)
        table.add_row(Text(part.label), Text(part.number), Text(part.condition.replace("-", " ")), price, _lead(part))
    console.print(table)
    deposits = [part for part in route.parts if part.deposit_hundredths]
    for part in deposits:
        counted = part.deposit_counted_hundredths
        console.print(_hanging(f"{part.label}: {deposit_words(answer.currency, part.deposit_hundredths, counted)}"))
    if deposits:
        console.print(_hanging(f"cash on the day {words.cash(route.on_the_day_hundredths, answer.currency)}"))


def _lead(part: PartLine) -> str:
    if part.in_hand:
        return "in hand"
    if part.in_stock:
        return "in stock"
    return words.days(part.lead_days) if part.lead_days else "no wait"


def _print_comparison(answer: Answer, console: Console) -> None:
    if len(answer.routes) < 2:
        _print_list(console, "What has no price", answer.ranking)
        return
    console.print()
    table = _table(
        ("", "right"), ("Route", "left"), ("Cash", "right"), ("Hours", "right"), ("Days", "right"),
        ("Total", "right"), ("Expected", "right"), ("9 in 10", "right"),
    )  # fmt: skip
    for route in answer.routes:
        table.add_row(
            str(route.rank), Text(route.summary), least_cash(route), least_hours(route), least_days(route),
            *sums_of(answer, route),
        )  # fmt: skip
    console.print(table)
    _print_list(console, "What has no price", answer.ranking)


def sums_of(answer: Answer, route: AnsweredRoute) -> tuple[str, str, str]:
    """Total, expected and nine in ten, short: "if" before what rests on an assumption, nothing without a rate."""
    if not answer.rate_stated and route.hours_hundredths:
        return ("no rate", "no rate", "no rate")
    hope = f"{hope_of(route)}{least_of(route)}"
    total, expected, most = (f"{hope}{words.money(one)}" for one in (route.total, route.expected, route.p90))
    return (total, "no price", "no price") if no_average(route) else (total, expected, most)


def _change_lines(answer: Answer) -> list[str]:
    """What would, one by one; what would not, in one line."""
    lines = [change.words for change in answer.changes if change.value is not None]
    idle = [change.label for change in answer.changes if change.value is None]
    return [*lines, f"no value of these alone: {told_shortly(idle)}"] if idle else lines


def _print_open(answer: Answer, console: Console) -> None:
    console.print(Text(f"Verdict: {answer.verdict}"))
    for line in answer.open:
        console.print()
        console.print(Text(f"Open: {line.label}", style="bold"))
        console.print(_hanging(line.why))
        if line.nearest_miss:
            console.print(_hanging(f"nearest miss: {line.nearest_miss}"))
        for out in line.left_out:
            console.print(_hanging(out))
        console.print(_hanging(f"what would open it: {line.opens}"))


assert tuple(STAGE_WORDS) == STAGES

"""The estimate: what will be done, what it costs line by line, what may be found, and what the customer signs."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from graph.answer.asked_units import deposit_words
from graph.answer.assumed import told_shortly
from graph.answer.model import SEND_OUT, STRIP, Answer, AnsweredRoute, PartLine
from graph.answer.words import cash, days, hours, money, percent, priced
from graph.costing.found import FoundOption
from graph.costing.plot import plot_spread
from graph.costing.spread import Spread
from graph.papers.common import assumptions_section, caution_section, demands_section, evidence_section, identity
from graph.papers.details import Details
from graph.papers.lines import PricedLine, priced_lines
from graph.papers.model import BLANK, Blank, Block, Facts, Paper, Picture, Points, Section, Table, Text

NOT_STATED = "NOT STATED: agree on new, reconditioned or used before buying"
EXCLUDED = (
    "Hard parts that cannot be seen before the gearbox is open, beyond the options listed under "
    "\"What may be found on strip\"",
    "Work and parts that are not listed here",
)  # fmt: skip


def estimate(
    answer: Answer, route: AnsweredRoute, details: Details, options: Sequence[FoundOption] = (),
    spread: Spread | None = None,
) -> Paper:  # fmt: skip
    """The paper. Its lines add up to the route's total; raises InvalidInput if they do not.

    `options`: what may be found on strip. `spread`: the exact spread of the route, for limit and picture.
    """
    sections = [
        identity(answer, details),
        _scope(route, details),
        demands_section(route),
        assumptions_section(answer, route),
        _work(answer, route),
        _parts(answer, route, details),
        _found(answer, options),
        _totals(answer, route, details, spread),
        _before_money(answer, route),
        evidence_section(route),
        caution_section(answer, route),
        _terms(answer, details),
    ]
    title = f"{answer.gearbox.label} behind {answer.engine.label}"
    kept = tuple(section for section in sections if section is not None)
    return Paper("Estimate", title, details.number, details.dated, kept)


def _scope(route: AnsweredRoute, details: Details) -> Section:
    excluded = (*details.exclusions, *EXCLUDED)
    blocks: tuple[Block, ...] = (
        Text(route.summary), Text("Not included:"), Points(excluded),
    )  # fmt: skip
    return Section("Scope", blocks)


def _work(answer: Answer, route: AnsweredRoute) -> Section:
    lines = priced_lines(route, answer.rate_hundredths)
    rows = tuple(_work_row(line) for line in lines)
    total = (
        "", "", "Total", hours(route.hours_hundredths), "",
        cash(sum(line.labour_hundredths for line in lines)), cash(route.cash_hundredths),
        priced(route.total, route.hours_hundredths, answer.currency, answer.rate_stated),
    )  # fmt: skip
    rate = f"Labour at {cash(answer.rate_hundredths, answer.currency)} an hour. Each state is opened and paid for once."
    if not answer.rate_stated:
        rate = "NO BENCH RATE IS STATED: hours are listed and not in any sum. Agree on a rate before this is signed."
    head = ("No", "State", "Work", "Hours", "Lead", "Labour", "Parts, materials", "Amount")
    table = Table(head, rows, (6, 12, 44, 11, 13, 15, 16, 18), (3, 5, 6, 7), total)
    return Section("Work, in its order", (Text(rate), table))


def _work_row(line: PricedLine) -> tuple[str, ...]:
    step = line.step
    return (
        str(step.number), step.stage, step.text, hours(step.hours_hundredths) if step.hours_hundredths else "",
        days(step.days) if step.days else "", cash(line.labour_hundredths) if line.labour_hundredths else "",
        cash(line.cash_hundredths) if line.cash_hundredths else "", cash(line.amount_hundredths),
    )  # fmt: skip


def _parts(answer: Answer, route: AnsweredRoute, details: Details) -> Section:
    rows = tuple(_part_row(part) for part in route.parts)
    head = ("Part", "Number", "Condition", "From", "Lead", "Price")
    blocks: list[Block] = [Text("The prices are inside the amounts above; they are not added again.")]
    blocks.append(Table(head, rows, (40, 18, 30, 16, 14, 16), (5,)) if rows else Text("No parts are bought."))
    sent = [step for step in route.steps if step.stage == SEND_OUT]
    if sent:
        longest = max(step.days for step in sent)
        blocks.append(Text(f"Ordered or sent out: {len(sent)} lines, the longest takes {days(longest)}."))
    blocks.extend([Points(details.quoted)] if details.quoted else [])
    deposits = [part for part in route.parts if part.deposit_hundredths]
    if deposits:
        blocks.append(Points(tuple(_deposit(answer, part) for part in deposits)))
    blocks.append(Blank("Core deposits and terms of return (days, state of the old unit)", 2))
    return Section("Parts, work sent out, deposits", tuple(blocks))


def _deposit(answer: Answer, part: PartLine) -> str:
    said = deposit_words(answer.currency, part.deposit_hundredths, part.deposit_counted_hundredths)
    return f"{part.label}: {said}"


def _part_row(part: PartLine) -> tuple[str, ...]:
    condition = NOT_STATED if part.condition in ("", "unknown") else part.condition.replace("-", " ")
    source = "customer's own" if part.in_hand else "our stock" if part.in_stock else "bought in"
    price = "" if part.price_hundredths is None else cash(part.price_hundredths)
    return part.label, part.number, condition, source, days(part.lead_days) if part.lead_days else "", price


def _weighed(amount: Fraction | None) -> str:
    return "" if amount is None else money(amount)


def _found(answer: Answer, options: Sequence[FoundOption]) -> Section | None:
    if not options:
        return None
    rows = tuple(
        (
            option.label, percent(option.odds), "yes" if option.opened else "no", money(option.now),
            money(option.later), _weighed(option.weighed_now), _weighed(option.weighed_later),
            percent(option.break_even) if option.break_even <= 1 else "never", BLANK,
        )
        for option in options
    )  # fmt: skip
    head = ("If found worn", "Odds", "Open anyway", "Now", "Later", "Weighed now", "Weighed later", "Now pays above",
            "Wanted (yes, no, call)")  # fmt: skip
    table = Table(head, rows, (34, 11, 13, 15, 15, 15, 15, 14, 20), (1, 3, 4, 5, 6, 7))
    prices = f"Prices in {answer.currency}. " if answer.currency else ""
    words = (
        f"{prices}Later means that all that lies in the way comes off once more. Now pays above: weighed now / weighed "
        "later. Where wear shows once it is open, the repair is paid either way and only the openings are weighed; "
        "what other parts may call for anyway is taken off."
    )
    return Section("What may be found on strip", (Text(words), table))


def _totals(answer: Answer, route: AnsweredRoute, details: Details, spread: Spread | None) -> Section:
    currency = answer.currency
    holds = ", if all that is assumed holds" if route.assumptions else ""
    rows = [
        *((line.label, line.words) for line in route.sums),
        *([("Not stated, so in no sum", told_shortly(route.unpriced))] if route.unpriced else []),
        (f"Ready after{holds}", days(route.days)),
        *_on_the_day(route, currency),
        ("If you stop once it is open: opened and put back unrepaired", _stop_words(answer, route)),
    ]
    if answer.instead is not None:
        rows.append(("If the job is not done", money(answer.instead.cost, currency)))
    limit = details.limit_hundredths
    rows.append(("We call before we exceed", cash(limit, currency) if limit is not None else BLANK))
    blocks: list[Block] = []
    if spread is not None and limit is not None:
        rows.append(("Chance of exceeding it", percent(spread.exceeds(Fraction(limit, 100)))))
    blocks.append(Facts(tuple(rows)))
    if spread is not None:
        svg = plot_spread(spread, currency, None if limit is None else Fraction(limit, 100))
        median, high = (money(spread.quantile(Fraction(n, 10)), currency) for n in (5, 9))
        blocks.append(Picture(svg, f"Chance that the cost stays within each amount: median {median}, 90 % {high}."))
    blocks.extend([Points(answer.assumptions)] if answer.assumptions else [])
    return Section("Low, expected, high", tuple(blocks))


def _on_the_day(route: AnsweredRoute, currency: str) -> list[tuple[str, str]]:
    if route.on_the_day_hundredths <= route.cash_hundredths:
        return []
    return [("Cash on the day, core deposits with it", cash(route.on_the_day_hundredths, currency))]


def _stop_words(answer: Answer, route: AnsweredRoute) -> str:
    """The strip tasks' own labour: their hours cover taking off and putting back."""
    worked = sum(s.hours_hundredths for s in route.steps if s.stage == STRIP and s.source_kind == "task")
    return priced(Fraction(worked * answer.rate_hundredths, 10_000), worked, answer.currency, answer.rate_stated)


def _before_money(answer: Answer, route: AnsweredRoute) -> Section | None:
    items = list(route.to_confirm)
    if answer.look_first is not None:
        items.insert(0, answer.look_first.words)
    items += [f"Cannot be undone: {text}" for text in route.irreversible]
    items += [change.words for change in answer.changes if change.value is not None]
    heading = "Before money is spent, and what would change the answer"
    return Section(heading, (Points(tuple(items)),)) if items else None


def _terms(answer: Answer, details: Details) -> Section:
    facts = Facts(
        (
            ("Valid until", details.valid_until),
            ("Deposit asked", details.deposit_asked),
            ("Work may begin on", BLANK),
        )
    )
    warranty = _stated("Warranty", details.warranty, "on what, how long, what ends it")
    approval = _stated("Approval, inspection and insurance", details.approval, "what this change needs here")
    agreed = Facts((("Agreed, name and signature", BLANK), ("Date", BLANK)))
    return Section("Terms, to be completed under local law", (facts, warranty, approval, agreed))


def _stated(label: str, text: str, wanted: str) -> Block:
    return Text(f"{label}: {text}") if text else Blank(f"{label}: {wanted}", 2)

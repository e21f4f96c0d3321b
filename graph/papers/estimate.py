"""The estimate: what will be done, what it costs, what may be found, and what the customer signs.

It is for the customer: how the workshop does it, what it must beware of and how the hours are spread stand on the job
sheet. Every amount carries its currency.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from graph.answer import words
from graph.answer.asked_units import deposit_words
from graph.answer.assumed import shortly, told_shortly
from graph.answer.model.answer import Answer
from graph.answer.model.route import AnsweredRoute
from graph.answer.model.work import SEND_OUT, STRIP, PartLine
from graph.answer.plain import IN_PLAIN_WORDS
from graph.answer.status import PROVEN
from graph.answer.sums import hope_of, least_hours, least_of, left_out, no_average
from graph.answer.words import cash, days, money, percent, priced
from graph.costing.found import FoundOption
from graph.costing.prices import half_up
from graph.costing.spread import Spread
from graph.costing.tax import Tax
from graph.papers.common import demands_section, identity
from graph.papers.details import Details
from graph.papers.lines import parts_to_come, priced_lines
from graph.papers.model import BLANK, Blank, Block, Facts, Paper, Points, Section, Table, Text
from graph.papers.sheets import rows_of

PRICE, MAY_BE_FOUND = "Price", "What may be found, and what it would cost"
NOT_STATED = "NOT STATED: agree on new, reconditioned or used before buying"
USED_UP = "Oil, seals and what else is used up"
NOBODY_SAYS, AS_FAR_AS_KNOWN = "not stated", "as far as known, nothing worn"
EXCLUDED = (
    "Hard parts that cannot be seen before the gearbox is open, beyond what is said under \"What may be found\"",
    "Work and parts that are not listed here",
)  # fmt: skip
LAW = "A changed vehicle may need approval, and the insurer told: local law decides, and a qualified person's advice."
WARRANTY, APPROVAL = "on what, how long, what ends it", "what this change needs here"


def estimate(
    answer: Answer, route: AnsweredRoute, details: Details, options: Sequence[FoundOption] = (),
    spread: Spread | None = None, besides: bool = False,
) -> Paper:  # fmt: skip
    """The paper. Its lines add up to the route's total; raises InvalidInput if they do not.

    `options`: what may be found on strip. `spread`: the exact spread of the route, for the customer's limit.
    `besides`: what may be renewed while it is open stands on the paper too, with sums of its own.
    """
    sections = [
        identity(answer, details),
        _what_and_why(answer, route),
        demands_section(route),
        _price(answer, route, details),
        _range(answer, route, details, spread, besides),
        _found(answer, route, options),
        _not_included(answer, route, details),
        _first(answer, route),
        _terms(details),
    ]
    title = f"{answer.gearbox.label} behind {answer.engine.label}"
    kept = tuple(section for section in sections if section is not None)
    return Paper("Estimate", title, details.number, details.dated, kept)


def _what_and_why(answer: Answer, route: AnsweredRoute) -> Section:
    kind = words.sentence(IN_PLAIN_WORDS[route.verdict])
    aim = f"The {answer.gearbox.label} is put behind the {answer.engine.label}. {kind}."
    work = [
        f"{words.listed([part.label for part in joint.via])} fitted ({joint.label})" if joint.via else joint.way
        for joint in route.joints
        if joint.misfit or joint.via
    ]
    why = [f"{words.sentence(joint.label)}: as they are they do not fit, {joint.misfit}" for joint in route.joints
           if joint.misfit]  # fmt: skip
    done = [f"Done for it: {words.listed(list(dict.fromkeys(work)))}."] if work else []
    gone = [f"This cannot be undone: {text}" for text in route.irreversible]
    return Section("What is done, and why", (Text(" ".join([aim, *done])), *_points([*why, *gone])))


def _points(items: Sequence[str]) -> tuple[Block, ...]:
    return (Points(tuple(items)),) if items else ()


def _price(answer: Answer, route: AnsweredRoute, details: Details) -> Section:
    currency = answer.currency
    lines = priced_lines(route, answer.rate_hundredths)
    labour = sum(line.labour_hundredths for line in lines)
    rate = f" at {cash(answer.rate_hundredths, currency)} an hour" if answer.rate_stated else ""
    parts = [(_part_words(part), part.price_hundredths or 0) for part in route.parts if not part.in_hand]
    unknown = {_part_words(part) for part in route.parts if not part.in_hand and part.price_hundredths is None}
    to_come = parts_to_come(route)
    parts += [(part.label, part.cash_hundredths or 0) for part in to_come]
    unknown |= {part.label for part in to_come if part.cash_hundredths is None}
    used_up = _cash_used_up(route)
    rest = route.cash_hundredths - used_up - sum(amount for _, amount in parts)
    rows = [
        *parts, *((part.label + ": your own", 0) for part in route.parts if part.in_hand),
        (USED_UP, used_up), ("Machining and work sent out", rest),
    ]  # fmt: skip
    shown = [(said, cash(amount, currency)) for said, amount in rows if amount]
    shown += [
        (said, NOBODY_SAYS if said in unknown else "no charge")
        for said, amount in rows[: len(route.parts) + len(to_come)]
        if not amount
    ]
    shown.append((f"Labour, {least_hours(route)}{rate}", _labour(answer, labour)))
    net = half_up(route.total * 100)
    label = f"Total, {AS_FAR_AS_KNOWN}" if route.assumptions else "Total"
    table = Table(("What", "Amount"), tuple(shown), (140, 42), (1,), (label, _once(route.sums[0].words)))
    blocks: list[Block] = [] if answer.rate_stated else [Text(
        "NO BENCH RATE IS STATED: hours are listed and not in any sum. Agree on a rate before this is signed."
    )]  # fmt: skip
    blocks += [table, *_tax(answer, route, details, net)]
    blocks += _points(
        [
            *details.quoted,
            *(_deposit(answer, part) for part in route.parts if part.deposit_hundredths),
            *route.core_terms,
        ]
    )
    return Section(PRICE, tuple(blocks))


def _once(amount: str) -> str:
    """ "At least" says enough: what it hangs on stands in the row's label and in the lines below."""
    return amount.removeprefix("if ") if amount.startswith("if at least") else amount


def _cash_used_up(route: AnsweredRoute) -> int:
    return sum(step.cash_hundredths for step in route.steps if step.source_kind == "task" and step.stage != SEND_OUT)


def _labour(answer: Answer, labour_hundredths: int) -> str:
    return cash(labour_hundredths, answer.currency) if answer.rate_stated else "not in the sum"


def _tax(answer: Answer, route: AnsweredRoute, details: Details, net_hundredths: int) -> tuple[Block, ...]:
    """The tax that the shop states, in whole hundredths; where it states none, that prices are without any is said."""
    if details.tax_percent is None:
        return (Text("No tax is stated: the amounts are as they stand in the shop's own list."),)
    stated = Tax(details.tax_percent)
    tax = stated.on(net_hundredths)
    hope = _once(f"{hope_of(route)}{least_of(route)}")
    return (
        Facts(
            (
                (f"Tax, {stated.words}", hope + cash(tax, answer.currency)),
                ("Total with tax", hope + cash(net_hundredths + tax, answer.currency)),
            )
        ),
    )


def _part_words(part: PartLine) -> str:
    condition = NOT_STATED if part.condition in ("", "unknown") else part.condition.replace("-", " ")
    wait = f"about {days(part.lead_days)} to come" if part.lead_days else ""
    unpriced = "PRICE NOT KNOWN" if part.price_hundredths is None else ""
    return ", ".join(
        filter(None, (f"Buy {part.label}" if part.is_unit else part.label, part.number, condition, wait, unpriced))
    )


def _deposit(answer: Answer, part: PartLine) -> str:
    said = deposit_words(answer.currency, part.deposit_hundredths, part.deposit_counted_hundredths)
    return f"{part.label}: {said}"


def _range(
    answer: Answer, route: AnsweredRoute, details: Details, spread: Spread | None, besides: bool = False
) -> Section:
    currency = answer.currency
    holds = ", if all that is assumed holds" if route.assumptions else ""
    sums = [(line.label, _once(line.words)) for line in route.sums]
    if one_sum := route.total == route.expected == route.p90 and not route.assumptions:
        alone = "One sum: nothing likely is known that adds to it"
        sums = [("Without what is renewed while it is open" if besides else alone, route.sums[0].words)]
    if why := no_average(route):
        sums.append(("On average, and in nine jobs of ten", why))
    rows = [
        *sums,
        *([("Not stated, so in no sum", told_shortly(route.unpriced))] if route.unpriced else []),
        (f"Ready after{holds}", least_of(route) + days(route.days)),
        *_on_the_day(route, currency),
        *_after_the_look(answer),
        ("If you stop once it is open: put back unrepaired", _stop_words(answer, route)),
    ]
    if answer.instead is not None:
        rows.append(("If the job is not done", money(answer.instead.cost, currency)))
    if (limit := details.limit_hundredths) is not None:
        rows.append(("We call before we exceed", cash(limit, currency)))
        if spread is not None:
            rows.append(("Chance of exceeding it", _chance(route, spread.exceeds(Fraction(limit, 100)))))
    hangs = [f"It hangs on this, which nobody has stated yet: {line.text}" for line in shortly(route.assumptions)]
    before = "before tax" if details.tax_percent is not None else "as the total above"
    heading = "What it comes to" if one_sum else "Low, expected, high"
    return Section(heading, (Text(f"Amounts {before}."), Facts(tuple(rows)), *_points(hangs)))


def _chance(route: AnsweredRoute, odds: Fraction) -> str:
    """How likely the limit is exceeded: more likely than reckoned where something in doubt has no price."""
    if why := no_average(route):
        return f"not known; {why}"
    without = left_out(route)
    return f"at least {percent(odds)}{without}" if without else percent(odds)


def _on_the_day(route: AnsweredRoute, currency: str) -> list[tuple[str, str]]:
    if route.on_the_day_hundredths <= route.cash_hundredths:
        return []
    return [("Cash on the day, core deposits with it", cash(route.on_the_day_hundredths, currency))]


def _stop_words(answer: Answer, route: AnsweredRoute) -> str:
    """The strip tasks' own labour: their hours cover taking off and putting back."""
    strip = [s for s in route.steps if s.stage == STRIP and s.source_kind == "task"]
    worked = sum(s.hours_hundredths for s in strip)
    opened = max((s.number for s in strip), default=0)
    bought = sum(s.cash_hundredths for s in route.steps if s.order and s.number < opened)
    said = priced(Fraction(worked * answer.rate_hundredths, 10_000), worked, answer.currency, answer.rate_stated)
    return f"{said}, and {cash(bought, answer.currency)} for what is ordered by then" if bought else said


def _after_the_look(answer: Answer) -> list[tuple[str, str]]:
    """What the customer pays who stops once a look that pays has been taken."""
    look = answer.look_first
    if look is None or answer.status != PROVEN:
        return []
    value = Fraction(look.cash_hundredths, 100) + Fraction(look.hours_hundredths * answer.rate_hundredths, 10_000)
    said = priced(value, look.hours_hundredths, answer.currency, answer.rate_stated)
    return [("If you stop after the look that comes first", said)]


def _found(answer: Answer, route: AnsweredRoute, options: Sequence[FoundOption]) -> Section:
    """What may be found, and what of it is in the price already, with the reason: it is often worn, and reached."""
    changed = [fault for fault in route.faults if fault.state == "gone"]
    blocks = list(_points([
        f"{words.sentence(fault.label)}: likely at {percent(fault.odds)} in such a gearbox, and reached anyway; the new"
        " part is in the price"
        for fault in changed
    ]))  # fmt: skip
    if not options:
        blocks.append(Text("Nothing else that is likely is known of these parts."))
        return Section(MAY_BE_FOUND, tuple(blocks))
    return Section(MAY_BE_FOUND, (*blocks, _options_table(answer, route, options)))


def _options_table(answer: Answer, route: AnsweredRoute, options: Sequence[FoundOption]) -> Table:
    stated = {line.fault: line for line in route.assumptions if line.fault}

    def amount(option: FoundOption, value: Fraction) -> str:
        line = stated.get(option.fault)
        missing = not answer.rate_stated or (line is not None and line.at_least)
        if not value:
            return NOBODY_SAYS if missing else "no charge"
        return f"{'at least ' if missing else ''}{money(value, answer.currency)}"

    def likely(option: FoundOption) -> str:
        line = stated.get(option.fault)
        return NOBODY_SAYS if line is not None and line.odds is None else percent(option.odds)

    rows = tuple(
        (option.label, likely(option), amount(option, option.now), amount(option, option.later), BLANK)
        for option in options
    )
    head = ("If found worn", "Likely", "Put right now", "Later, opened once more", "Wanted (yes, no, call)")
    return Table(head, rows, (54, 18, 34, 40, 36), (1, 2, 3))


def _used_up(route: AnsweredRoute) -> list[str]:
    """What the steps ask for and no price names: oil, gaskets, bolts that are used once."""
    said = " ".join(step.text for step in route.steps).casefold()
    items = list(dict.fromkeys(row["item"] for row in rows_of("used_up") if row["said"] in said))
    beyond = f', beyond "{USED_UP}" above' if _cash_used_up(route) else ""
    return [f"Asked for by the work, no price stated{beyond}: {words.listed(items)}"] if items else []


def _not_included(answer: Answer, route: AnsweredRoute, details: Details) -> Section:
    units = [
        f"{unit.part.label}: {unit.words}" if unit.state == "to buy"
        else f"The {unit.what} itself, {unit.part.label}, is taken as yours and is not in the price"
        for unit in answer.asked_units
        if unit.what != "vehicle"
    ]  # fmt: skip
    return Section(
        "Not included, and the units themselves", (Points((*units, *_used_up(route), *details.exclusions, *EXCLUDED)),)
    )


def _first(answer: Answer, route: AnsweredRoute) -> Section | None:
    items = [_of_what(route, text) for text in route.to_confirm]
    if answer.look_first is not None and answer.status == PROVEN:
        items.insert(0, answer.look_first.words)
    return Section("We make sure of this before money is spent", (Points(tuple(items)),)) if items else None


def _of_what(route: AnsweredRoute, text: str) -> str:
    """What is to be confirmed, with the part that it is said of, where a step's condition says it."""
    steps = (step for step in route.steps if any(one.text == text for one in step.conditions))
    ids = next((step.parts for step in steps), ())
    named = [part.label for part in route.parts if part.part in ids]
    return f"{words.listed(named)}: {text}" if named else text


def _terms(details: Details) -> Section:
    known = (("Valid until", details.valid_until), ("Deposit asked", details.deposit_asked))
    blocks: list[Block] = [Text(LAW)]
    blocks += [Text(f"{label}: {text}") for label, text in (
        ("Warranty", details.warranty), ("Approval, inspection and insurance", details.approval)
    ) if text]  # fmt: skip
    blocks += [Blank(f"{label}: {wanted}") for label, text, wanted in (
        ("Warranty", details.warranty, WARRANTY), ("Approval, inspection and insurance", details.approval, APPROVAL)
    ) if not text]  # fmt: skip
    stated = tuple(row for row in known if row[1])
    to_write = [label for label, text in known if not text]
    to_write += [] if details.limit_hundredths is not None else ["We call before we exceed"]
    agreed = ("Agreed: name, signature, date", BLANK)
    blocks.append(Facts((*stated, *((label, BLANK) for label in to_write), agreed)))
    return Section("Terms, under local law", tuple(blocks))

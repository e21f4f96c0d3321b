"""What the customer may have renewed while it is open, on estimate and job sheet: what is ticked, and what may be."""

from __future__ import annotations

from fractions import Fraction

from graph.answer.words import cash, hours, listed, money, percent
from graph.costing.prices import half_up
from graph.costing.tax import Tax
from graph.papers.details import Details
from graph.papers.model import BLANK, Block, Facts, Points, Section, Table, Text
from graph.wear import WearItem, WhileOut

NOT_STATED = "not stated"


def wished_section(found: WhileOut, details: Details) -> Section | None:
    """The lines of what is ticked, and the total with them; None where nothing is."""
    ticked = [item for item in found.items if item.ticked]
    if not ticked:
        return None
    rows = tuple((_what(item), _part_price(item, found.currency), _work(item)) for item in ticked)
    most, total = ("at least " if lacks else "" for lacks in (found.wish.lacks, found.at_least))
    table = Table(("Renewed as well while it is open", "Part", "Work"), rows, (110, 42, 30), (1, 2))
    with_it = half_up(found.with_wish * 100)
    sums = [
        ("These come to", most + money(found.wish.total, found.currency)),
        ("Total with them", total + cash(with_it, found.currency)),
    ]
    if details.tax_percent is not None:
        tax = Tax(details.tax_percent).on(with_it)
        sums.append(("Total with them and tax", total + cash(with_it + tax, found.currency)))
    lacking: tuple[Block, ...] = (Text(f"Not stated, so in no sum: {listed(found.wish.lacks)}."),) if most else ()
    return Section("Ticked by the customer", (table, Facts(tuple(sums)), *lacking))


def offered_section(found: WhileOut) -> Section | None:
    """What may still be ticked: how likely it is worn, now against later."""
    offered = [item for item in found.items if not item.ticked]
    if not offered:
        return None
    rows = tuple(
        (
            _what(item), percent(item.odds), _sum(item, item.now, found.currency),
            _sum(item, item.later, found.currency), BLANK,
        )
        for item in offered
    )  # fmt: skip
    head = ("Lies open anyway", "Likely worn", "Renewed now", "Later, opened once more", "Wanted (yes, no, call)")
    said = "None of this is in the price above. What is found worn is told before it is renewed."
    return Section(
        "While it is out you may have renewed", (Text(said), Table(head, rows, (54, 20, 34, 40, 34), (1, 2, 3)))
    )


def to_do_section(found: WhileOut) -> Section | None:
    """For the bench: what to look at while it is open; what is ticked stands among the steps (in a plan that was kept
    before it did, here)."""
    wished = [f"Renew as ticked: {_what(item)}" for item in found.items if item.ticked and not found.steps]
    looked = [
        f"Look at it: {_what(item)}; {item.cheap_test or 'look'}{f' ({item.limit})' if item.limit else ''}"
        for item in found.items
        if not item.ticked
    ]
    items = (*wished, *looked)
    return Section("While it is open", (Points(items, tick=True),)) if items else None


def _what(item: WearItem) -> str:
    """What is renewed, and of which part."""
    return f"{item.renews} ({item.part})" if item.part else item.renews


def _part_price(item: WearItem, currency: str) -> str:
    return NOT_STATED if item.cash_hundredths is None else cash(item.cash_hundredths, currency)


def _work(item: WearItem) -> str:
    return NOT_STATED if item.hours_hundredths is None else hours(item.hours_hundredths)


def _sum(item: WearItem, value: Fraction, currency: str) -> str:
    if item.lacks and not value:
        return NOT_STATED
    return f"{'at least ' if item.lacks else ''}{money(value, currency)}"

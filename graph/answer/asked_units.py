"""The asked gearbox and engine themselves: in hand, to be bought at a price, or of a price that nobody knows."""

from __future__ import annotations

from graph.answer import words
from graph.answer.ground import Ground
from graph.answer.model.answer import UnitLine
from graph.catalogue.model import Part
from graph.reading.units import IN_HAND, TO_BUY, AskedUnit


def unit_lines(ground: Ground) -> tuple[UnitLine, ...]:
    """One line for each; none for a document that came without a reading."""
    return tuple(_line(ground, unit) for unit in ground.reading.units) if ground.reading else ()


def to_be_told(lines: tuple[UnitLine, ...]) -> tuple[str, ...]:
    """What of them bears on the sums."""
    return tuple(line.words for line in lines if line.state != IN_HAND)


def _line(ground: Ground, unit: AskedUnit) -> UnitLine:
    part = unit.part
    return UnitLine(
        what=unit.what, part=ground.named(part.id), state=unit.state, price_hundredths=unit.cash_hundredths,
        lead_days=unit.days, in_stock=part.in_stock, exchanged_hundredths=unit.exchanged_hundredths,
        words=f"{part.label}: {_words(ground, unit)}",
    )  # fmt: skip


def _words(ground: Ground, unit: AskedUnit) -> str:
    if unit.state == IN_HAND:
        return "in hand"
    if unit.state != TO_BUY or unit.cash_hundredths is None:
        return "taken as in hand; no price of it is noted, so if it has to be bought, that comes on top of every sum"
    part, currency = unit.part, ground.catalogue.currency
    wait = "in stock" if part.in_stock else words.days(unit.days) if unit.days else "no wait"
    said = [f"to be bought, {words.cash(unit.cash_hundredths, currency)}, {wait}, in every sum"]
    if part.deposit_hundredths:
        said.append(deposit_words(ground.catalogue.currency, part.deposit_hundredths, part.deposit_counted_hundredths))
    if unit.exchanged_hundredths:
        said.append(f"{words.cash(unit.exchanged_hundredths, currency)} less for the old one handed in")
    elif part.part_exchange_hundredths:
        said.append(f"{words.cash(_allowed(part), currency)} less if an old one is handed in")
    return "; ".join(said)


def _allowed(part: Part) -> int:
    return min(part.part_exchange_hundredths or 0, part.cash_hundredths or 0)


def deposit_words(currency: str, deposit_hundredths: int, counted_hundredths: int) -> str:
    """What is due on the day besides the price, and what of it the sums hold.

    >>> deposit_words("EUR", 15000, 3000)
    'core deposit 150.00 EUR on the day, of which 30.00 EUR are counted as lost on average'
    """
    deposit, counted = (words.cash(amount, currency) for amount in (deposit_hundredths, counted_hundredths))
    return f"core deposit {deposit} on the day, of which {counted} are counted as lost on average"

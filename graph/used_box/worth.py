"""What a used gearbox is worth after the checks, and the verdict in a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from graph.answer.words import money
from graph.catalogue.model import Catalogue, Part
from graph.used_box.model import UsedBox, WornLine

SOUND = ("new", "new-old-stock", "reconditioned", "used-tested")
LIKELY, SHOWN = 0.5, 3


def worth_of(
    asked: UsedBox, part: Part, catalogue: Catalogue, repairs: Fraction, before: Fraction, at_least: bool
) -> tuple[Fraction | None, str]:  # fmt: skip
    """What to pay at most, and how it is reckoned. A price of a sound one is less what is expected to be put right; a
    price of one that nobody tested has the usual repairs in it, so only what the checks changed counts."""
    currency = catalogue.currency
    least = "at least " if at_least else ""
    cost = f"{least}{money(repairs, currency)}"
    stated = part.cash_hundredths if part.currency in ("", currency) else None
    asking = "" if asked.asking_hundredths is None else _asking(asked.asking_hundredths, repairs, least, currency)
    if stated is None:
        return None, f"Nobody has stated what one costs: pay {cost} less than for a sound one.{asking}"
    price = Fraction(stated, 100)
    if part.condition in SOUND:
        worth = price - repairs
        condition = part.condition.replace("-", " ")
        how = f"{money(price, currency)} for a {condition} one, less {cost} of repairs to be expected"
    else:
        worth = price + before - repairs
        how = f"{money(price, currency)} for one that nobody has tested, corrected by what the checks changed"
    if worth <= 0:
        return Fraction(0), f"Worth nothing but its sound parts: {how}.{asking}"
    return worth, f"Worth up to {money(worth, currency)}: {how}.{asking}"


def _asking(asking_hundredths: int, repairs: Fraction, least: str, currency: str) -> str:
    asking = Fraction(asking_hundredths, 100)
    both = money(asking + repairs, currency)
    return f" At the {money(asking, currency)} asked it comes to {least}{both} with what is expected to be put right."


def summary_of(worn: Sequence[WornLine], repairs: Fraction, at_least: bool, currency: str) -> str:
    """The verdict in a sentence."""
    likely = [line.renews for line in worn if line.odds >= LIKELY][:SHOWN]
    said = f"Likely worn: {', '.join(likely)}." if likely else "Nothing is more likely worn than not."
    return (
        f"{said} Expect {'at least ' if at_least else ''}{money(repairs, currency)} of repairs once it is on the bench."
    )


def cautions() -> tuple[str, ...]:
    """What to beware of while looking."""
    return (
        "Lift it with a strap or two people; it tips as soon as one end is free.",
        "A check from outside clears nothing for certain; agree on the right to bring it back before paying.",
    )

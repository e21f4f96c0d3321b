"""Names, prices, conditions of parts and notes of the invented trade, drawn by chance."""

from __future__ import annotations

from random import Random

from scripts.synthetic.writer import Writer

FIRST = ("Al", "Bren", "Cor", "Dun", "Ell", "Far", "Gal", "Hol", "Ims", "Kel", "Lor", "Mar", "Nor", "Os", "Pen")
SECOND = (
    "beck",
    "combe",
    "dale",
    "field",
    "garth",
    "ham",
    "ing",
    "ley",
    "mere",
    "nock",
    "ridge",
    "stow",
    "thorpe",
    "wick",
)
USED = ("used-tested", "used-untested", "worn-in-limit", "reconditioned")
LEVELS = (
    "measured-on-the-same-variant", "done-and-came-back-good", "done-without-follow-up", "drawing-or-standard",
    "published-with-numbers", "word-of-the-trade", "hearsay",
)  # fmt: skip
AGENTS = ("bench-one", "bench-two", "machinist", "counter", "drawing-office")


def name_of(dice: Random, number: int) -> str:
    """An invented family name with its number."""
    return f"{dice.choice(FIRST)}{dice.choice(SECOND)} {number}"


def condition(dice: Random) -> str:
    """The state that a used part is in."""
    return f"lay:partCondition kind:{dice.choice(USED)}"


def price(dice: Random, low: int, high: int, chance: float = 1.0) -> tuple[str, ...]:
    """New at a price; or, below certainty, used, and only with the given chance to be had at all."""
    state = "lay:partCondition kind:new" if chance == 1.0 else condition(dice)
    if dice.random() >= chance:
        return (state,)
    return state, f"lay:cash {dice.randint(low * 20, high * 20) / 20:.2f}", f"lay:days {dice.randint(0, 8)}"


def note(to: Writer, dice: Random, about: str) -> str:
    """Writes a note and hands back the statement that rests on it."""
    name = f"note-{about}"
    to.subject(
        f"shop:{name}", "lay:Note", f'lay:text "{about}: tried together on the bench, figures on the sheet."',
        f"lay:evidence kind:{dice.choice(LEVELS)}", f"prov:wasAttributedTo shop:{dice.choice(AGENTS)}",
        f'prov:generatedAtTime "20{dice.randint(15, 24)}-{dice.randint(1, 12):02}-{dice.randint(1, 28):02}"^^xsd:date',
        f'lay:job "{dice.randint(1, 9999)}"',
    )  # fmt: skip
    return f"lay:note shop:{name}"

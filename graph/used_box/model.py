"""What is asked about a used gearbox, and what is answered. Money in currency units, odds from 0 to 1."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from graph.answer.measuring_sheet import ToMeasure


@dataclass(frozen=True, slots=True)
class UsedBox:
    """`gearbox`: a unit or a family of gearboxes. `found`: check -> yes or no. `asking_hundredths`: the seller's price,
    None where it is not said."""

    gearbox: str
    found: Mapping[str, str] = field(default_factory=dict)
    asking_hundredths: int | None = None


@dataclass(frozen=True, slots=True)
class TellApart:
    """Something that tells the variants of the family apart: what to look at, and which finding points to which."""

    label: str
    how: str
    minutes: Fraction
    outcomes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WornLine:
    """What may be worn inside. `before`: before anything was looked at; `repair`: putting it right on the bench, alone,
    with all that must be opened for it there; `lacks`: what of that nobody has stated."""

    id: str
    label: str
    renews: str
    before: float
    odds: float
    repair: Fraction
    lacks: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True)
class CheckLine:
    """A check. `answer`: yes, no or "" while nobody has looked. `settles`: the share of the doubt that it takes away.

    `if_yes`, `if_no`: which part it then speaks of most, with its odds before and after.
    """

    id: str
    asks: str
    how: str
    minutes: float
    answer: str
    settles: float
    if_yes: str
    if_no: str
    source: str


@dataclass(frozen=True, slots=True)
class UsedBoxVerdict:
    """`repairs`: what is expected to be put right, an opening that several need once; `repairs_p90`: nine times in ten
    no more. `repairs_before`: the same before anything was looked at. `worth`: what to pay at most, None where nobody
    has stated what such a box costs; `worth_words` says how it is reckoned. `checks`: what tells most for its time
    first. `bring_home`: what to measure on it.
    """

    gearbox: str
    label: str
    currency: str
    variants: tuple[str, ...]
    tell_apart: tuple[TellApart, ...]
    checks: tuple[CheckLine, ...]
    answered: tuple[CheckLine, ...]
    worn: tuple[WornLine, ...]
    repairs: Fraction
    repairs_p90: Fraction
    repairs_before: Fraction
    at_least: bool
    worth: Fraction | None
    worth_words: str
    bring_home: tuple[ToMeasure, ...]
    not_known: tuple[str, ...]
    summary: str
    notes: tuple[str, ...]
    cautions: tuple[str, ...]

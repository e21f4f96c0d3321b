"""Ways to close a length chain, side by side: what each comes to, what it costs, and what else it moves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.length_chain import Chain, Remedies, check_chain
from graph.fits.length_sheet import PAD_MILLING, PLATE, REFACE, SPACER
from graph.fits.model import CheckResult, Verdict, show_nm

_RANK = {Verdict.HOLDS: 0, Verdict.HOLDS_WITH_WORK: 0, Verdict.UNKNOWN: 1, Verdict.FAILS: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One set of remedies with what it costs besides the hours' rate. Lengths nm, money and hours hundredths."""

    id: str
    label: str
    remedies: Mapping[str, int] = field(default_factory=dict)
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    days: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Effect:
    """Something outside the chain that a remedy moves, against the baseline. Plus as the words say."""

    what: str
    amount_nm: int

    def text(self) -> str:
        """`lever back by 5.000 mm`."""
        return f"{self.what} by {show_nm(self.amount_nm)}"


@dataclass(frozen=True, slots=True)
class OptionResult:
    """An option judged: the chain's verdict, the price in exact hundredths, and the side effects."""

    option: Option
    result: CheckResult
    cost_hundredths: Fraction
    effects: tuple[Effect, ...]

    @property
    def holds(self) -> bool:
        """Whether the chain holds with it in the worst case."""
        return self.result.verdict is Verdict.HOLDS


def compare_options(
    chain: Chain, options: Sequence[Option], rate_hundredths: int, baseline: Remedies | None = None
) -> tuple[OptionResult, ...]:
    """Every option judged: those that hold first, then cheapest, then soonest, then by id.

    `rate_hundredths`: price of an hour in hundredths. `baseline`: the build that side effects are told against.
    Raises InvalidInput for a negative price, hours or rate, an id used twice, or an unknown remedy.
    """
    problems = [] if rate_hundredths >= 0 else [Problem("rate", "an hour cannot cost less than nothing")]
    seen: set[str] = set()
    for option in options:
        if option.id in seen:
            problems.append(Problem(f"options[{option.id}]", "this id is used twice"))
        seen.add(option.id)
        if option.cash_hundredths < 0 or option.hours_hundredths < 0 or option.days < 0:
            problems.append(Problem(f"options[{option.id}]", "cash, hours and days cannot be negative"))
    if problems:
        raise InvalidInput(problems)
    judged = [
        OptionResult(
            option, check_chain(chain, option.remedies),
            option.cash_hundredths + Fraction(option.hours_hundredths * rate_hundredths, 100),
            side_effects(option.remedies, baseline or {}),
        )
        for option in options
    ]  # fmt: skip
    return tuple(sorted(judged, key=_order))


def side_effects(remedies: Remedies, baseline: Remedies) -> tuple[Effect, ...]:
    """What moves besides the chain. A plate moves the lever back by its own thickness (common practice)."""
    effects = []
    plate = remedies.get(PLATE, 0) - baseline.get(PLATE, 0)
    if plate:
        direction, prop = ("back", "shorter") if plate > 0 else ("forward", "longer")
        effects += [
            Effect(f"prop-shaft {prop}", abs(plate)),
            Effect(f"lever {direction}", abs(plate)),
            Effect(f"gearbox mount {direction}", abs(plate)),
        ]
    spacer = remedies.get(SPACER, 0) - baseline.get(SPACER, 0)
    if spacer:
        direction = "back" if spacer > 0 else "forward"
        effects.append(Effect(f"crank sensor ring to re-set, moved {direction}", abs(spacer)))
    if remedies.get(REFACE, 0):
        effects.append(Effect("flywheel thinner: keep the step to the maker's figure; thinner", remedies[REFACE]))
    if remedies.get(PAD_MILLING, 0):
        effects.append(Effect("starter pad thinner", remedies[PAD_MILLING]))
    return tuple(effects)


def _order(judged: OptionResult) -> tuple[int, Fraction, Fraction, str]:
    return _RANK[judged.result.verdict], judged.cost_hundredths, judged.option.days, judged.option.id

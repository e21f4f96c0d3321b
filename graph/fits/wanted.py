"""What a finished job must come to: a gear's ratio, engine speed on the road, which way the output turns.

A demand is a line of words; `judge` puts it to what is known of the parts of one route, shows the sum, and says holds,
fails, or what is missing. What a reading's uncertainty leaves open is unknown, not passed. Counting turns and teeth.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, Problem
from graph.fits.model import Amount, CheckResult, Line, Missing, Verdict, Working, show_number
from graph.fits.quantity import quantity_of
from graph.fits.sums import COUNT

GEARS = ("first", "second", "third", "fourth", "fifth", "sixth")
TOP = "top"
RATIO, ENGINE_SPEED, ROAD_SPEED, TURNS = "gear ratio", "engine speed", "road speed", "output turns"
SAME, OTHER = "the same way", "the other way"
CLOCKWISE, ANTICLOCKWISE = "clockwise", "anticlockwise"

# What the sums take, by the ids of the quantities in facts/kinds/quantities.ttl.
CONSTANT_DRIVING, CONSTANT_DRIVEN = "constant-mesh-driving-teeth", "constant-mesh-driven-teeth"
FORWARD_GEARS, FINAL_DRIVE, TRANSFER = "forward-gears", "final-drive-ratio", "transfer-ratio"
CIRCUMFERENCE, ENGINE_HAND, OUTPUT_TURNS = "rolling-circumference", "engine-hand", "output-turns"
AS_INPUT, AGAINST_INPUT = "as the input", "against the input"

EXAMPLES = (
    "first gear at least 3.3", "120 km/h in fifth gear below 3000 a minute", "1000 rpm in first gear at most 8 km/h",
    "output turns the same way",
)  # fmt: skip
_BOUNDS = {
    "at least": (True, False), "not below": (True, False), "above": (True, True), "over": (True, True),
    "at most": (False, False), "not above": (False, False), "below": (False, True), "under": (False, True),
}  # fmt: skip
_WORDS = {(low, strict): next(w for w, v in _BOUNDS.items() if v == (low, strict)) for low, strict in _BOUNDS.values()}
_NTH = {"1st": "first", "2nd": "second", "3rd": "third", "4th": "fourth", "5th": "fifth", "6th": "sixth"}
_GEAR = f"(?P<gear>{'|'.join((*GEARS, *_NTH, TOP))}) gear"
_BOUND = f"(?P<bound>{'|'.join(_BOUNDS)})"
_RATIO = re.compile(rf"(?:the )?{_GEAR} {_BOUND} (?P<value>.+)")
_SPEED = re.compile(rf"(?P<at>.+?)(?: in (?:the )?{_GEAR})? {_BOUND} (?P<value>.+)")
_TURNS = re.compile(rf"(?:the )?output turns (?P<turns>{SAME}|{OTHER}|{CLOCKWISE}|{ANTICLOCKWISE})")
_PER_MINUTE = re.compile(r"\s*(?:(?:a|per) minute|(?:(?<=\s)1)?/min)$")
LONGEST = 120
MINUTES_KM = Fraction(6, 100)  # metres a minute in km/h


@dataclass(frozen=True, slots=True)
class Wanted:
    """One demand. `text`: in its one spelling. `gear`: "" for none, `top` for the highest.

    `bound`: what the figure must be at least (`low`) or at most, `strict`: and not equal to it; in the unit of `what`
    (a plain number, 1/min, km/h). `at`: the road speed in km/h, or the engine speed in 1/min, that it is asked at.
    """

    text: str
    what: str
    gear: str = ""
    bound: Fraction = Fraction(0)
    low: bool = True
    strict: bool = False
    at: Fraction = Fraction(0)
    turns: str = ""


@dataclass(frozen=True, slots=True)
class DemandFigure:
    """A number between its limits, and the words it is printed with. `rank`: of its evidence."""

    low: Fraction
    value: Fraction
    high: Fraction
    name: str
    rank: int = 1

    def at(self, end: str) -> Fraction:
        """The number at its `low` or `high` end, or its `value`."""
        return {"low": self.low, "high": self.high}.get(end, self.value)


Known = Mapping[str, DemandFigure | str]  # by quantity; a word for what is seen


def read_wanted(text: str, path: str) -> Wanted:
    """The demand that the words state. Raises InvalidInput at `path`, with examples of what can be asked.

    >>> read_wanted("120 km/h in 5th gear below 3000 a minute", "demands[0]").text
    '120 km/h in fifth gear below 3000 1/min'
    """
    plain = " ".join(text.lower().split())
    if len(plain) > LONGEST:
        raise InvalidInput(
            [Problem(path, f"a demand of {len(plain)} characters is too long; write it such as {_told()}")]
        )
    if found := _TURNS.fullmatch(plain):
        return Wanted(f"output turns {found['turns']}", TURNS, turns=found["turns"])
    if found := _RATIO.fullmatch(plain):
        return _ratio(found, path)
    if found := _SPEED.fullmatch(plain):
        return _speed(found, path)
    raise InvalidInput([Problem(path, f"cannot read {text!r} as a demand; write it such as {_told()}")])


def _told() -> str:
    return "; ".join(f'"{one}"' for one in EXAMPLES)


def _ratio(found: re.Match[str], path: str) -> Wanted:
    gear, (low, strict) = _gear(found["gear"]), _BOUNDS[found["bound"]]
    written = re.sub(r"\s*(?::\s*1|to 1)$", "", found["value"])
    value = quantity_of(f"{written} :1", "ratio", path).amount
    _above_zero(value, path, "first gear at least 3.3")
    text = f"{gear} gear {_WORDS[low, strict]} {show_number(value, 6)}"
    return Wanted(text, RATIO, gear, value, low, strict)


def _speed(found: re.Match[str], path: str) -> Wanted:
    gear, (low, strict) = _gear(found["gear"] or TOP), _BOUNDS[found["bound"]]
    at, value = (_PER_MINUTE.sub(" rpm", found[name]) for name in ("at", "value"))
    on_the_road = not re.search(r"(?:rpm|rev/min)$", at)
    first, second = ("speed", "speed of rotation") if on_the_road else ("speed of rotation", "speed")
    asked, bound = quantity_of(at, first, path).amount, quantity_of(value, second, path).amount
    for number in (asked, bound):
        _above_zero(number, path, EXAMPLES[1])
    units = ("km/h", "1/min") if on_the_road else ("1/min", "km/h")
    text = f"{show_number(asked, 6)} {units[0]} in {gear} gear {_WORDS[low, strict]} {show_number(bound, 6)} {units[1]}"
    return Wanted(text, ENGINE_SPEED if on_the_road else ROAD_SPEED, gear, bound, low, strict, asked)


def _gear(name: str) -> str:
    return _NTH.get(name, name)


def _above_zero(value: Fraction, path: str, example: str) -> None:
    if value <= 0:
        raise InvalidInput(
            [Problem(path, f'must be above zero, found {show_number(value)}; write it such as "{example}"')]
        )


def ratio_of(gear: str) -> str:
    """The quantity that states a gear's ratio."""
    return f"{gear}-gear-ratio"


def teeth_of(gear: str) -> tuple[str, str]:
    """The quantities with the teeth of a gear's pair: driving on the layshaft, driven on the mainshaft."""
    return f"{gear}-gear-driving-teeth", f"{gear}-gear-driven-teeth"


def quantities_of(wanted: Wanted) -> tuple[str, ...]:
    """Every quantity that may come into the demand's sum."""
    if wanted.what == TURNS:
        return (OUTPUT_TURNS, *((ENGINE_HAND,) if wanted.turns in (CLOCKWISE, ANTICLOCKWISE) else ()))
    gears = GEARS if wanted.gear == TOP else (wanted.gear,)
    of_gears = [one for gear in gears for one in (ratio_of(gear), *teeth_of(gear))]
    on_the_road = () if wanted.what == RATIO else (FINAL_DRIVE, TRANSFER, CIRCUMFERENCE)
    top = (FORWARD_GEARS,) if wanted.gear == TOP else ()
    return (*top, CONSTANT_DRIVING, CONSTANT_DRIVEN, *of_gears, *on_the_road)


def lacking(wanted: Wanted, known: Known) -> tuple[str, ...]:
    """The quantities without which there is no figure; none where it can be computed.

    What `known` names as "" belongs to the sum and nobody has read it: a transfer box, a ratio that may be stated.
    """
    if wanted.what == TURNS:
        return tuple(one for one in quantities_of(wanted) if not known.get(one))
    gear = _gear_meant(wanted, known)
    if gear is None:
        return (FORWARD_GEARS,)
    teeth = (CONSTANT_DRIVING, CONSTANT_DRIVEN, *teeth_of(gear))
    stated = known.get(ratio_of(gear))
    missing = () if stated else tuple(one for one in teeth if not known.get(one))
    if missing and stated == "":
        missing = (ratio_of(gear),)
    if wanted.what != RATIO:
        missing += tuple(one for one in (FINAL_DRIVE, CIRCUMFERENCE) if not known.get(one))
        missing += (TRANSFER,) if known.get(TRANSFER) == "" else ()
    return missing


def _gear_meant(wanted: Wanted, known: Known) -> str | None:
    if wanted.gear != TOP:
        return wanted.gear
    gears = known.get(FORWARD_GEARS)
    count = int(gears.value) if isinstance(gears, DemandFigure) else 0
    return GEARS[count - 1] if 1 <= count <= len(GEARS) else None


def judge(wanted: Wanted, known: Known, names: Mapping[str, str]) -> CheckResult:
    """The demand against what is known of one route's parts. `names`: what to call a quantity that is missing."""
    missing = lacking(wanted, known)
    if missing:
        gaps = tuple(Missing(names.get(one, one.replace("-", " ")), wanted.text) for one in missing)
        told = f"{wanted.text}: not known; find out {', '.join(gap.name for gap in gaps)}"
        return CheckResult(joint=wanted.what, verdict=Verdict.UNKNOWN, summary=told, measure=gaps)
    return _judge_turns(wanted, known) if wanted.what == TURNS else _judge_figure(wanted, known)


def _judge_turns(wanted: Wanted, known: Known) -> CheckResult:
    """`known[OUTPUT_TURNS]`: what reverses on the way and what does not, in order, with commas between."""
    ways = str(known[OUTPUT_TURNS]).split(", ")
    reversals = ways.count(AGAINST_INPUT)
    found = OTHER if reversals % 2 else SAME
    numbers = f"{', '.join(ways)}: {reversals} reversals"
    if wanted.turns in (CLOCKWISE, ANTICLOCKWISE):
        hand = str(known[ENGINE_HAND])
        numbers = f"engine {hand}; {numbers}"
        found = hand if found == SAME else {CLOCKWISE: ANTICLOCKWISE, ANTICLOCKWISE: CLOCKWISE}[hand]
    line = Line("output", "engine, turned round once for each reversal", numbers, found, COUNT)
    verdict = Verdict.HOLDS if found == wanted.turns else Verdict.FAILS
    told = f"{wanted.text}: it turns {found}{'' if verdict is Verdict.HOLDS else ', so this fails'}, seen from one end"
    return CheckResult(
        joint=wanted.what, verdict=verdict, summary=told, binding="hand", working=Working((line,)), evidence_rank=5
    )


def _judge_figure(wanted: Wanted, known: Known) -> CheckResult:
    """Every figure of the sum is above zero, so its ends are those of its figures."""
    gear = _gear_meant(wanted, known)
    assert gear is not None
    figures = _gear_figures(gear, known)
    if wanted.what != RATIO:
        figures += [one for one in (known.get(TRANSFER), known.get(FINAL_DRIVE)) if isinstance(one, DemandFigure)]
    tyre = known.get(CIRCUMFERENCE)
    road = tyre if isinstance(tyre, DemandFigure) and wanted.what != RATIO else None
    low, value, high = (_sum(wanted, figures, road, end) for end in ("low", "value", "high"))
    symbol, formula, unit = {
        RATIO: (f"i {gear}", "driven / driving, in series", ""), ENGINE_SPEED: ("n", "v i / (0.06 U)", "1/min"),
        ROAD_SPEED: ("v", "0.06 n U / i", "km/h"),
    }[wanted.what]  # fmt: skip
    lines = [Line(symbol, formula, value[1], _shown(value[0], unit), COUNT)]
    if low[0] != high[0]:
        lines += [
            Line(f"{symbol} {end}", formula, made[1], _shown(made[0], unit), COUNT)
            for end, made in (("at least", low), ("at most", high))
        ]
    rank = max(figure.rank for figure in (*figures, *((road,) if road else ())))
    return _held(wanted, (low[0], value[0], high[0]), lines, unit, rank)


def _sum(wanted: Wanted, figures: list[DemandFigure], road: DemandFigure | None, end: str) -> tuple[Fraction, str]:
    """The figure with every reading at that end of its limits, and the sum in numbers that give it again."""
    other = {"low": "high", "high": "low"}.get(end, end)
    ratio_end, road_end = (other, end) if wanted.what == ROAD_SPEED else (end, other)
    ratio, names = Fraction(1), []
    for figure in figures:
        ratio *= figure.at(ratio_end)
        names.append(figure.name if figure.low == figure.high else show_number(figure.at(ratio_end), 6))
    shown = " x ".join(names)
    if road is None:
        return ratio, shown
    at, tyre, metres = show_number(wanted.at, 6), show_number(road.at(road_end), 6), road.at(road_end)
    if wanted.what == ENGINE_SPEED:
        return wanted.at * ratio / (MINUTES_KM * metres), f"{at} x {shown} / (0.06 x {tyre})"
    return MINUTES_KM * wanted.at * metres / ratio, f"0.06 x {at} x {tyre} / ({shown})"


def _shown(value: Fraction, unit: str) -> str:
    return f"{show_number(value)} {unit}".strip()


def _gear_figures(gear: str, known: Known) -> list[DemandFigure]:
    """The teeth where all four are counted; else what is stated of the gearbox."""
    stated = known.get(ratio_of(gear))
    names = (CONSTANT_DRIVEN, CONSTANT_DRIVING, *reversed(teeth_of(gear)))
    teeth = [known.get(one) for one in names]
    if isinstance(stated, DemandFigure) and (stated.value == 1 or not all(teeth)):
        return [stated]
    a, b, c, d = (one for one in teeth if isinstance(one, DemandFigure))
    pairs = ((a, b), (c, d))
    return [
        DemandFigure(over.value / under.value, over.value / under.value, over.value / under.value,
               f"{show_number(over.value)}/{show_number(under.value)}", max(over.rank, under.rank))
        for over, under in pairs
    ]  # fmt: skip


def _held(
    wanted: Wanted, ends: tuple[Fraction, Fraction, Fraction], lines: list[Line], unit: str, rank: int
) -> CheckResult:
    low, value, high = ends
    worst, best = (low, high) if wanted.low else (high, low)
    margin, room = ((end - wanted.bound) * (1 if wanted.low else -1) for end in (worst, best))
    figure = _shown(value, unit)
    if _meets(margin, wanted.strict):
        verdict, said = Verdict.HOLDS, figure
    elif not _meets(room, wanted.strict):
        verdict, said = Verdict.FAILS, f"{figure}, so this fails"
    else:
        verdict, said = Verdict.UNKNOWN, f"{figure}, within its readings of the limit: count the teeth or measure finer"
    measure = (Missing("it finer", wanted.text),) if verdict is Verdict.UNKNOWN else ()
    return CheckResult(
        joint=wanted.what, verdict=verdict, summary=f"{wanted.text}: {said}", binding="least" if wanted.low else "most",
        working=Working(tuple(lines)), margin=Amount(margin, unit), measure=measure, evidence_rank=rank,
    )  # fmt: skip


def _meets(room: Fraction, strict: bool) -> bool:
    return room > 0 if strict else room >= 0

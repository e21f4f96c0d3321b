"""What numbers with their units mean for a question: a value, a doubt, or why it is no part of one. No I/O.

`graph.fits.quantity` reads units and `graph.fits.wanted` demands; here is only what a person means with them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from graph.costing.currency import minor_units
from graph.errors import InvalidInput
from graph.fits.quantity import quantity_of
from graph.fits.wanted import read_wanted
from graph.spoken.by_date import days_until, said_dates
from graph.spoken.model import CONTEXT, SpokenChoice
from graph.spoken.numbers_said import values_of

WEEK = 5  # working days, common practice
CERTAIN_MONEY = 50  # a bare number from here on, after "under", is no count of days or hours
MOST_DAYS = 100_000
MOST_MONEY = 10**9
LOW = (
    r"at least|no less than|not less than|not under|not below|no lower than|minimum|min|over|above|more than|>=?|\u2265"
)
BOUND = {
    **dict.fromkeys(("at least", "no less than", "not less than", "minimum", "min", "not below", "not under"),
                    "at least"),
    **dict.fromkeys(("over", "above", "more than"), "above"),
    **dict.fromkeys(("at most", "no more than", "not more than", "maximum", "max", "not above", "not over", "up to"),
                    "at most"),
    **dict.fromkeys(("under", "below", "less than"), "below"),
}  # fmt: skip
_BY = r"(?: ?[-.*\u00b7\u22c5] ?| )?"
LBFT = (
    rf"(?:(?:lbs?|lbfs?){_BY}(?:ft|foot|feet)|(?:ft|foot|feet){_BY}(?:lbs?|lbfs?)|pounds?(?: force)?[ -]f(?:oo|ee)t"
    r"|f(?:oo|ee)t[ -]pounds?(?: force)?)"
)
MPH = r"(?:mph|mi/h|miles?(?: an | per | ?/ ?)(?:hour|h))"
KMH = rf"(?:km/h|kph|kmh|(?:km|kilomet(?:re|er)s?)(?: an | per | ?/ ?)(?:hour|h)|{MPH})"
_SIGNS = {"€": "EUR", "£": "GBP", "$": "USD"}
_MONEY_WORDS = {
    **dict.fromkeys(("euro", "euros"), "EUR"), **dict.fromkeys(("pound", "pounds", "quid"), "GBP"),
    **dict.fromkeys(("dollar", "dollars"), "USD"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Meant:
    """What a number means: one choice is certain, several are a doubt with what is `asked`; `reason`: it is refused.

    Several choices without a question hold together. `bare`: it is a sum of money only as long as nothing is counted.
    """

    choices: tuple[SpokenChoice, ...] = ()
    asked: str = ""
    reason: str = ""
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What numbers are read by: the shop's currency, its hours a day, and the date."""

    currency: str
    day_hours: Fraction
    today: date


def decimal(value: Fraction, places: int) -> str:
    """Rounded up to so many places: a torque or a power a little too high is on the safe side."""
    scaled = -(-value * 10**places // 1)
    text = f"{int(scaled) // 10**places}.{int(scaled) % 10**places:0{places}d}"
    return text.rstrip("0").rstrip(".")


def one_or_asked(choices: list[SpokenChoice], asked: str) -> Meant | None:
    """Several are asked about."""
    if not choices:
        return None
    return Meant(tuple(choices), asked if len(choices) > 1 else "")


def torque(match: re.Match[str], by: Circumstances) -> Meant | None:
    """With its unit."""
    pounds = re.fullmatch(LBFT, match["unit"])
    choices = []
    for value in values_of(match["n"]):
        if not 0 < value <= 100_000:
            return Meant(reason="no engine has this torque")
        newton_metres = quantity_of(f"{decimal(value, 6)} lb ft", "torque").in_unit("Nm") if pounds else value
        written = decimal(newton_metres, 2)
        from_pounds = f" ({decimal(value, 6)} lb ft)" if pounds else ""
        choices.append(SpokenChoice(f"{CONTEXT}torque_nm", written, f"Engine torque {written} Nm{from_pounds}"))
    if match["low"]:
        return Meant(tuple(choices), "How much torque, at the most? A question takes one number")
    return one_or_asked(choices, "Which number is meant? A question takes one")


def bare_torque(match: re.Match[str], by: Circumstances) -> Meant | None:
    """Without a unit."""
    made = [
        SpokenChoice(f"{CONTEXT}torque_nm", written, f"Engine torque {written} Nm{told}")
        for value in values_of(match["n"])[:1]
        for written, told in (
            (decimal(value, 2), ""),
            (decimal(quantity_of(f"{decimal(value, 6)} lb ft", "torque").in_unit("Nm"), 2),
             f" ({decimal(value, 6)} lb ft)"),
        )
        if 0 < value <= 100_000
    ]  # fmt: skip
    return one_or_asked(made, "In which unit is the torque?")


def power(match: re.Match[str], by: Circumstances) -> Meant | None:
    """With its unit."""
    unit = {"kw": "kW", "hp": "hp", "bhp": "hp", "ps": "PS"}[match["unit"]]
    choices = []
    for value in values_of(match["n"]):
        if not 0 < value <= 100_000:
            return Meant(reason="no engine has this power")
        kilowatts = decimal(quantity_of(f"{decimal(value, 6)} {unit}", "power").in_unit("kW"), 2)
        told = "" if unit == "kW" else f" ({decimal(value, 6)} {unit})"
        choices.append(SpokenChoice(f"{CONTEXT}power_kw", kilowatts, f"Engine power {kilowatts} kW{told}"))
    return one_or_asked(choices, "Which number is meant?")


def _money_values(match: re.Match[str], by: Circumstances) -> list[Fraction] | Meant:
    groups = match.groupdict("")
    sign, word = groups.get("sign") or "", groups.get("word") or ""
    code = _SIGNS.get(sign) or _SIGNS.get(word) or _MONEY_WORDS.get(word) or word.upper()
    if code and code not in minor_units():
        return Meant()
    if code and by.currency and code != by.currency:
        return Meant(reason=f"this workshop's prices are in {by.currency}")
    return [value for value in values_of(match["n"]) if value <= MOST_MONEY and (value * 100).denominator == 1]


def rate(match: re.Match[str], by: Circumstances) -> Meant | None:
    """Of the bench, an hour."""
    found = _money_values(match, by)
    if isinstance(found, Meant):
        return found if found.reason else None
    made = [SpokenChoice("rate", f"{float(one):.2f}", f"Bench rate {float(one):.2f} {by.currency} an hour")
            for one in found]  # fmt: skip
    if match.groupdict().get("bound"):
        return Meant(tuple(made), "Which bench rate? A question takes one number, no limit") if made else None
    return one_or_asked(made, "Which bench rate? A question takes one number")


def _worth(value: Fraction, currency: str) -> SpokenChoice:
    told = f"{float(value):.2f} {currency}".rstrip()
    return SpokenChoice("instead", f"{float(value):.2f}", f"Worth {told} at most; above that it is left")


def money(match: re.Match[str], by: Circumstances) -> Meant | None:
    """What the job may cost."""
    found = _money_values(match, by)
    if isinstance(found, Meant):
        return found if found.reason else None
    if re.fullmatch(LOW, match.groupdict("").get("bound", "")):
        return Meant(reason="a question can have a most that it may cost, and no least")
    return one_or_asked([_worth(one, by.currency) for one in found], "Which sum is meant?")


def bare_money(match: re.Match[str], by: Circumstances) -> Meant | None:
    """A number alone after a word such as under."""
    values = [value for value in values_of(match["n"]) if (value * 100).denominator == 1 and value <= MOST_MONEY]
    if len(values) == 1 and values[0] >= CERTAIN_MONEY:
        return Meant((_worth(values[0], by.currency),), bare=True)
    choices = [_worth(value, by.currency) for value in values]
    if values and values[-1] < CERTAIN_MONEY:
        choices += [_days(values[-1]), *_hours_choices(values[-1], by)]
    return Meant(tuple(choices), "What is the limit?", bare=True) if choices else None


def _days(value: Fraction, told: str = "") -> SpokenChoice:
    days = decimal(value, 4)
    unit = "working day" if value == 1 else "working days"
    return SpokenChoice("deadline", days, f"Ready within {days} {unit}{told}")


def deadline(match: re.Match[str], by: Circumstances) -> Meant | None:
    """Days or weeks."""
    weeks, more = match["unit"].startswith("week"), match.groupdict().get("more") or "0"
    choices = []
    for value in values_of(match["n"]):
        days = value * WEEK + int(more) if weeks else value
        if days > MOST_DAYS:
            return Meant(reason="no job takes so long")
        choices.append(_days(days, f" ({decimal(value, 4)} weeks of {WEEK}{_and_days(int(more))})" if weeks else ""))
    if match["low"]:
        return Meant(reason="a question can have a most that it may take, and no least")
    return one_or_asked(choices, "How many days? A question takes one number")


def _and_days(more: int) -> str:
    return f" and {more} days" if more else ""


def day_and_a_half(match: re.Match[str], by: Circumstances) -> Meant | None:
    """`a day and a half`."""
    return Meant((_days(Fraction(3, 2) * (WEEK if match["unit"] == "week" else 1)),))


def a_day(match: re.Match[str], by: Circumstances) -> Meant | None:
    """`within a day`."""
    return Meant((_days(Fraction(1)),))


def a_week(match: re.Match[str], by: Circumstances) -> Meant | None:
    """`within a week`."""
    return Meant((_days(Fraction(WEEK), f" (a week of {WEEK})"),))


def by_date(match: re.Match[str], by: Circumstances) -> Meant | None:
    """A day of the calendar."""
    found = said_dates(match, by.today)
    if not found:
        return None
    choices = []
    for day in found:
        days = days_until(day, by.today) - (1 if match["by"] == "before" else 0)
        if days >= 0 and day >= by.today:
            choices.append(_days(Fraction(days), f" ({match['by']} {day:%A} {day.isoformat()}, holidays not counted)"))
    if not choices:
        return Meant(reason=f"this day is past: today is {by.today.isoformat()}")
    return one_or_asked(choices, "Which day is meant?")


def _hours_choices(value: Fraction, by: Circumstances) -> list[SpokenChoice]:
    days = value / by.day_hours
    return [
        _days(days, f" ({decimal(value, 4)} h at {decimal(by.day_hours, 2)} h a day)"),
        SpokenChoice("objective", "hours", "Whatever it costs: fewest hours"),
    ]


def hours(match: re.Match[str], by: Circumstances) -> Meant | None:
    """Hours of work or of waiting."""
    minutes = Fraction(int(match["minutes"] or 0), 60)
    made = [choice for value in values_of(match["n"]) for choice in _hours_choices(value + minutes, by)]
    return Meant(tuple(made), "A question has no limit on hours of work. What is meant?") if made else None


def year(match: re.Match[str], by: Circumstances) -> Meant | None:
    """Of build."""
    return Meant((SpokenChoice(f"{CONTEXT}year", match["n"], f"Year of build {match['n']}"),))


def years(match: re.Match[str], by: Circumstances) -> Meant | None:
    """`from 1999 to 2003`."""
    choices = tuple(SpokenChoice(f"{CONTEXT}year", one, f"Year of build {one}") for one in (match["year"], match["to"]))
    return Meant(choices, "Which year of build? A question takes one")


def bare_year(match: re.Match[str], by: Circumstances) -> Meant | None:
    """A number alone that may be a year."""
    year = SpokenChoice(f"{CONTEXT}year", match["n"], f"Year of build {match['n']}")
    return Meant((year, _worth(Fraction(match["n"]), by.currency)), "What does the number say?")


def routes(match: re.Match[str], by: Circumstances) -> Meant | None:
    """How many to show."""
    count = int(match["n"]) - (0 if match["unit"].startswith("alt") else 1)
    if not 0 <= count <= 20:
        return Meant(reason="at most 20 further routes can be shown")
    return Meant((SpokenChoice("alternatives", str(count), f"{count} further routes"),))


def assumed(match: re.Match[str], by: Circumstances) -> Meant | None:
    """How many things may be assumed."""
    count = match["n"]
    return Meant((SpokenChoice("most_assumed", count, f"At most {count} assumed"),)) if len(count) <= 3 else None


def demand(match: re.Match[str], by: Circumstances) -> Meant | None:
    """What a sum over the parts must come to."""
    groups = match.groupdict()
    read = {name: _plainly(groups[name]) for name in ("n", "at", "n2") if groups.get(name)}
    if not all(read.values()):
        return Meant(reason="it can be read in two ways, or only as a fraction: write a decimal number")
    gear = groups.get("gear") or "top"
    bound, value = BOUND[groups["bound"]], read["n"]
    if groups.get("n2"):
        return _both(
            _wanted(f"{gear} gear {bound} {value}"), _wanted(f"{gear} gear {BOUND[groups['bound2']]} {read['n2']}")
        )
    if not groups.get("at"):
        text = f"{gear} gear {bound} {value}"
    elif groups.get("speed"):
        text = f"{read['at']} {_speed_unit(groups['speed'])} in {gear} gear {bound} {value} rpm"
    else:
        text = f"{read['at']} rpm in {gear} gear {bound} {value} {_speed_unit(groups['road'])}"
    return _wanted(text)


def _speed_unit(said: str) -> str:
    return "mph" if re.fullmatch(MPH, said) else "km/h"


def demand_between(match: re.Match[str], by: Circumstances) -> Meant | None:
    """`first gear between 3 and 4`."""
    low, high = _plainly(match["low_end"]), _plainly(match["high_end"])
    if not low or not high:
        return Meant(reason="it can be read in two ways, or only as a fraction: write a decimal number")
    gear = match["gear"]
    return _both(_wanted(f"{gear} gear at least {low}"), _wanted(f"{gear} gear at most {high}"))


def _plainly(text: str) -> str:
    """The number as a decimal; "" for one that can be read in two ways, or that no decimal is."""
    values = values_of(text)
    if len(values) != 1 or (values[0] * 10**6).denominator != 1:
        return ""
    return decimal(values[0], 6)


def _both(one: Meant, other: Meant) -> Meant:
    return one if one.reason else other if other.reason else Meant((*one.choices, *other.choices))


def turns(match: re.Match[str], by: Circumstances) -> Meant | None:
    """The way the output turns."""
    return _wanted(match[0].replace("anti-clockwise", "anticlockwise"))


def _wanted(text: str) -> Meant:
    try:
        wanted = read_wanted(text, "words").text
    except InvalidInput as error:
        return Meant(reason=error.problems[0].message)
    as_said = re.search(r"[\d.]+ mph", text)
    told = f" ({as_said[0]})" if as_said else ""
    return Meant((SpokenChoice("demands", wanted, f"Must come to: {wanted}{told}"),))

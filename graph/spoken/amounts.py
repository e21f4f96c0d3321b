"""Numbers with units in a question: torque, power, money, days, hours, a year, demands. Exact; no I/O.

`graph.fits.numbers` and `graph.fits.quantity` read numbers and units, `graph.fits.wanted` reads demands; here is only
which of them a person means where.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from graph.costing.currency import minor_units
from graph.errors import InvalidInput
from graph.fits.numbers import read_number
from graph.fits.quantity import UNITS, quantity_of
from graph.fits.wanted import GEARS, read_wanted
from graph.spoken.by_date import DATE, days_until, said_dates
from graph.spoken.model import CONTEXT, SpokenChoice
from graph.spoken.phrases import FIXED, NOT_ASKED
from graph.spoken.pieces import Heard

WEEK = 5  # working days, common practice
CERTAIN_MONEY = 50  # a bare number from here on, after "under", is no count of days or hours
MOST_DAYS = 100_000
MOST_MONEY = 10**9
NUM = r"\d+(?:[.,]\d+)*"
_LOW = r"at least|no less than|not less than|minimum|min|over|above|more than"
_HIGH = (
    r"at most|no more than|not more than|not over|not above|up to|maximum|max|under|below|less than|within|in|"
    r"cheaper than|budget of|budget is|budget|not exceeding|stay under|stay below"
)
_ABOUT = r"about|around|roughly|some|ca"
_BOUND = {
    **dict.fromkeys(("at least", "no less than", "not less than", "minimum", "min", "not below"), "at least"),
    **dict.fromkeys(("over", "above", "more than"), "above"),
    **dict.fromkeys(("at most", "no more than", "not more than", "maximum", "max", "not above", "not over", "up to"),
                    "at most"),
    **dict.fromkeys(("under", "below", "less than"), "below"),
}  # fmt: skip
_BOUNDED = f"(?P<bound>{'|'.join(sorted(_BOUND, key=len, reverse=True))})"
_GEAR = rf"(?P<gear>{'|'.join((*GEARS, 'top'))})(?: gear)?"
_RPM = r"(?:rpm|revs?/min|revs|1?/ ?min|(?:a|per) minute)"
_KMH = r"(?:km/h|kph|kmh|mph)"
_NM = r"(?:n ?[-/.*\u00b7\u22c5]? ?m|newton ?-?met(?:re|er)s?)"
_LBFT = r"(?:(?:lbs?|lbf)[ -]?ft|ft[ -]?(?:lbs?|lbf)|pounds?[ -]f(?:oo|ee)t|f(?:oo|ee)t[ -]pounds?)"
_SIGNS = {"€": "EUR", "£": "GBP", "$": "USD"}
_MONEY_WORDS = {
    **dict.fromkeys(("euro", "euros"), "EUR"), **dict.fromkeys(("pound", "pounds", "quid"), "GBP"),
    **dict.fromkeys(("dollar", "dollars"), "USD"),
}  # fmt: skip
_A_WEEK = r"(?:a|1|next) week"


@dataclass(frozen=True, slots=True)
class Meant:
    """What a number means: one choice is certain, several are a doubt with what is `asked`; `reason`: it is refused."""

    choices: tuple[SpokenChoice, ...] = ()
    asked: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What numbers are read by: the shop's currency, its hours a day, and the date."""

    currency: str
    day_hours: Fraction
    today: date


Rule = tuple[re.Pattern[str], Callable[[re.Match[str], Circumstances], Meant | None]]


def find_amounts(heard: Heard, by: Circumstances) -> Iterator[tuple[int, int, Meant]]:
    """The pieces, from and up to, with what they mean. They are taken, or refused with the reason."""
    for pattern, meaning in _RULES:
        for match in pattern.finditer(heard.line):
            span = heard.span(match)
            if span is None or (meant := meaning(match, by)) is None:
                continue
            if heard.is_denied(span[0]) and not match[0].startswith(("no ", "not", "nothing", "without", "dont")):
                meant = Meant(reason="it is said with a no, and there is nothing that could be left out")
            heard.take(*span)
            if meant.reason:
                heard.refuse(*span, meant.reason)
                heard.take(*span)
            yield (*span, meant)


def values_of(text: str) -> tuple[Fraction, ...]:
    """The numbers that digits with marks may mean: `1,200` is 1.2 or 1200.

    >>> values_of("180,5"), values_of("1.200,50"), values_of("1,200")
    ((Fraction(361, 2),), (Fraction(2401, 2),), (Fraction(1200, 1), Fraction(6, 5)))
    """
    marks = re.findall("[.,]", text)
    if len(marks) < 2:
        value = read_number(text, "words", "180.5").value
        grouped = re.fullmatch(r"([1-9]\d{0,2})[.,](\d{3})", text)
        return (Fraction(int(grouped[1] + grouped[2])), value) if grouped else (value,)
    if not re.fullmatch(r"[1-9]\d{0,2}(?:[.,]\d{3})*(?:[.,]\d+)?", text):
        return ()
    if len(set(marks)) == 1:
        return (Fraction(int(re.sub("[.,]", "", text))),) if re.fullmatch(r"\d+(?:[.,]\d{3})+", text) else ()
    if len(set(marks[:-1])) > 1:
        return ()
    whole, _, part = text.rpartition(marks[-1])
    return (Fraction(re.sub("[.,]", "", whole) + "." + part),)


def _decimal(value: Fraction, places: int) -> str:
    """Rounded up to so many places: a torque or a power a little too high is on the safe side."""
    scaled = -(-value * 10**places // 1)
    text = f"{int(scaled) // 10**places}.{int(scaled) % 10**places:0{places}d}"
    return text.rstrip("0").rstrip(".")


def _one_or_asked(choices: list[SpokenChoice], asked: str) -> Meant | None:
    if not choices:
        return None
    return Meant(tuple(choices), asked if len(choices) > 1 else "")


def _torque(match: re.Match[str], by: Circumstances) -> Meant | None:
    pounds = re.fullmatch(_LBFT, match["unit"])
    choices = []
    for value in values_of(match["n"]):
        if not 0 < value <= 100_000:
            return Meant(reason="no engine has this torque")
        newton_metres = quantity_of(f"{_decimal(value, 6)} lb ft", "torque").in_unit("Nm") if pounds else value
        written = _decimal(newton_metres, 2)
        from_pounds = f" ({_decimal(value, 6)} lb ft)" if pounds else ""
        choices.append(SpokenChoice(f"{CONTEXT}torque_nm", written, f"Engine torque {written} Nm{from_pounds}"))
    if match["low"]:
        return Meant(tuple(choices), "How much torque, at the most? A question takes one number")
    return _one_or_asked(choices, "Which number is meant?")


def _bare_torque(match: re.Match[str], by: Circumstances) -> Meant | None:
    made = [
        SpokenChoice(f"{CONTEXT}torque_nm", written, f"Engine torque {written} Nm{told}")
        for value in values_of(match["n"])[:1]
        for written, told in (
            (_decimal(value, 2), ""),
            (_decimal(quantity_of(f"{_decimal(value, 6)} lb ft", "torque").in_unit("Nm"), 2),
             f" ({_decimal(value, 6)} lb ft)"),
        )
        if 0 < value <= 100_000
    ]  # fmt: skip
    return _one_or_asked(made, "In which unit is the torque?")


def _power(match: re.Match[str], by: Circumstances) -> Meant | None:
    unit = {"kw": "kW", "hp": "hp", "bhp": "hp", "ps": "PS"}[match["unit"]]
    choices = []
    for value in values_of(match["n"]):
        if not 0 < value <= 100_000:
            return Meant(reason="no engine has this power")
        kilowatts = _decimal(quantity_of(f"{_decimal(value, 6)} {unit}", "power").in_unit("kW"), 2)
        told = "" if unit == "kW" else f" ({_decimal(value, 6)} {unit})"
        choices.append(SpokenChoice(f"{CONTEXT}power_kw", kilowatts, f"Engine power {kilowatts} kW{told}"))
    return _one_or_asked(choices, "Which number is meant?")


def _money_values(match: re.Match[str], by: Circumstances) -> list[Fraction] | Meant:
    groups = match.groupdict("")
    sign, word = groups.get("sign") or "", groups.get("word") or ""
    code = _SIGNS.get(sign) or _SIGNS.get(word) or _MONEY_WORDS.get(word) or word.upper()
    if code and code not in minor_units():
        return Meant()
    if code and by.currency and code != by.currency:
        return Meant(reason=f"this workshop's prices are in {by.currency}")
    return [value for value in values_of(match["n"]) if value <= MOST_MONEY and (value * 100).denominator == 1]


def _rate(match: re.Match[str], by: Circumstances) -> Meant | None:
    found = _money_values(match, by)
    if isinstance(found, Meant):
        return found if found.reason else None
    made = [SpokenChoice("rate", f"{float(one):.2f}", f"Bench rate {float(one):.2f} {by.currency} an hour")
            for one in found]  # fmt: skip
    return _one_or_asked(made, "Which bench rate?")


def _worth(value: Fraction, currency: str) -> SpokenChoice:
    told = f"{float(value):.2f} {currency}".rstrip()
    return SpokenChoice("instead", f"{float(value):.2f}", f"Worth {told} at most; above that it is left")


def _money(match: re.Match[str], by: Circumstances) -> Meant | None:
    found = _money_values(match, by)
    if isinstance(found, Meant):
        return found if found.reason else None
    if re.fullmatch(_LOW, match.groupdict("").get("bound", "")):
        return Meant(reason="a question can have a most that it may cost, and no least")
    return _one_or_asked([_worth(one, by.currency) for one in found], "Which sum is meant?")


def _bare_money(match: re.Match[str], by: Circumstances) -> Meant | None:
    following = re.match(r" ?([^\s\d,;.!?]+)", match.string[match.end() :])
    if following and (following[1] in UNITS or following[1].casefold() in {unit.casefold() for unit in UNITS}):
        return None
    values = [value for value in values_of(match["n"]) if (value * 100).denominator == 1 and value <= MOST_MONEY]
    if len(values) == 1 and values[0] >= CERTAIN_MONEY:
        return Meant((_worth(values[0], by.currency),))
    choices = [_worth(value, by.currency) for value in values]
    if values and values[-1] < CERTAIN_MONEY:
        choices += [_days(values[-1]), *_hours_choices(values[-1], by)]
    return Meant(tuple(choices), "What is the limit?") if choices else None


def _days(value: Fraction, told: str = "") -> SpokenChoice:
    days = _decimal(value, 4)
    unit = "working day" if value == 1 else "working days"
    return SpokenChoice("deadline", days, f"Ready within {days} {unit}{told}")


def _deadline(match: re.Match[str], by: Circumstances) -> Meant | None:
    weeks = match["unit"].startswith("week")
    choices = []
    for value in values_of(match["n"]):
        days = value * WEEK if weeks else value
        if days > MOST_DAYS:
            return Meant(reason="no job takes so long")
        choices.append(_days(days, f" ({_decimal(value, 4)} weeks of {WEEK})" if weeks else ""))
    return _one_or_asked(choices, "How many days?")


def _week(match: re.Match[str], by: Circumstances) -> Meant | None:
    return Meant((_days(Fraction(WEEK), f" (a week of {WEEK})"),))


def _by_date(match: re.Match[str], by: Circumstances) -> Meant | None:
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
    return _one_or_asked(choices, "Which day is meant?")


def _hours_choices(value: Fraction, by: Circumstances) -> list[SpokenChoice]:
    days = value / by.day_hours
    return [
        _days(days, f" ({_decimal(value, 4)} h at {_decimal(by.day_hours, 2)} h a day)"),
        SpokenChoice("objective", "hours", "Whatever it costs: fewest hours"),
    ]


def _hours(match: re.Match[str], by: Circumstances) -> Meant | None:
    made = [choice for value in values_of(match["n"])[:1] for choice in _hours_choices(value, by)]
    return Meant(tuple(made), "A question has no limit on hours of work. What is meant?") if made else None


def _year(match: re.Match[str], by: Circumstances) -> Meant | None:
    return Meant((SpokenChoice(f"{CONTEXT}year", match["n"], f"Year of build {match['n']}"),))


def _bare_year(match: re.Match[str], by: Circumstances) -> Meant | None:
    year = SpokenChoice(f"{CONTEXT}year", match["n"], f"Year of build {match['n']}")
    return Meant((year, _worth(Fraction(match["n"]), by.currency)), "What does the number say?")


def _routes(match: re.Match[str], by: Circumstances) -> Meant | None:
    count = int(match["n"]) - (0 if match["unit"].startswith("alt") else 1)
    if not 0 <= count <= 20:
        return Meant(reason="at most 20 further routes can be shown")
    return Meant((SpokenChoice("alternatives", str(count), f"{count} further routes"),))


def _assumed(match: re.Match[str], by: Circumstances) -> Meant | None:
    count = match["n"]
    return Meant((SpokenChoice("most_assumed", count, f"At most {count} assumed"),)) if len(count) <= 3 else None


def _demand(match: re.Match[str], by: Circumstances) -> Meant | None:
    groups = match.groupdict()
    values = {name: values_of(groups[name]) for name in ("n", "at") if groups.get(name)}
    if any(len(each) != 1 for each in values.values()):
        return Meant(reason="a number with a mark before three digits can be read in two ways: write it without")
    gear = groups.get("gear") or "top"
    bound, value = _BOUND[groups["bound"]], groups["n"]
    if not groups.get("at"):
        text = f"{gear} gear {bound} {value}"
    elif groups.get("speed"):
        text = f"{groups['at']} {groups['speed']} in {gear} gear {bound} {value} rpm"
    else:
        text = f"{groups['at']} rpm in {gear} gear {bound} {value} {groups['road']}"
    return _wanted(text)


def _turns(match: re.Match[str], by: Circumstances) -> Meant | None:
    return _wanted(match[0].replace("anti-clockwise", "anticlockwise"))


def _wanted(text: str) -> Meant:
    try:
        wanted = read_wanted(text, "words").text
    except InvalidInput as error:
        return Meant(reason=error.problems[0].message)
    return Meant((SpokenChoice("demands", wanted, f"Must come to: {wanted}"),))


def _fixed(choice: SpokenChoice) -> Callable[[re.Match[str], Circumstances], Meant]:
    return lambda match, by: Meant((choice,))


def _refused(reason: str) -> Callable[[re.Match[str], Circumstances], Meant]:
    return lambda match, by: Meant(reason=reason)


def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![^\W_])(?:{text})(?![^\W_])")


_CODE = r"(?P<word>eur|gbp|usd|chf|sek|nok|dkk|pln|czk|huf|aud|nzd|cad|jpy|euros?|pounds?|quid|dollars?|[€£$])"
_SIGN = r"(?P<sign>[€£$])"
_MOST = rf"(?P<bound>{_LOW}|{_HIGH}|{_ABOUT}|for)"
_RULES: tuple[Rule, ...] = (
    (_pattern(rf"(?:the )?{_GEAR}(?: ratio)?(?: of)? {_BOUNDED} (?P<n>{NUM})(?: ?: ?1| to 1)?(?! ?(?:{_RPM}|{_KMH}))"),
     _demand),
    (_pattern(rf"(?:at )?(?P<at>{NUM}) ?(?P<speed>{_KMH}),?(?: (?:at|with|is|turning))? {_BOUNDED} (?P<n>{NUM}) ?{_RPM}"
              rf" (?:in|at) (?:the )?{_GEAR}"), _demand),
    (_pattern(rf"{_BOUNDED} (?P<n>{NUM}) ?{_RPM} (?:in|at) (?:the )?{_GEAR},? at (?P<at>{NUM}) ?(?P<speed>{_KMH})"),
     _demand),
    (_pattern(rf"(?:at )?(?P<at>{NUM}) ?(?P<speed>{_KMH})(?: (?:in|at) (?:the )?{_GEAR})?,?(?: at)? {_BOUNDED} "
              rf"(?P<n>{NUM}) ?{_RPM}"), _demand),
    (_pattern(rf"{_BOUNDED} (?P<n>{NUM}) ?{_RPM} at (?P<at>{NUM}) ?(?P<speed>{_KMH})(?: in (?:the )?{_GEAR})?"),
     _demand),
    (_pattern(rf"(?:at )?(?P<at>{NUM}) ?{_RPM}(?: (?:in|at) (?:the )?{_GEAR})?,? {_BOUNDED} "
              rf"(?P<n>{NUM}) ?(?P<road>{_KMH})"), _demand),
    (_pattern(r"output turns (?:the same way|the other way|clockwise|anti-?clockwise)"), _turns),
    *((_pattern(words), _refused(reason)) for words, reason in NOT_ASKED),
    *((_pattern(words), _fixed(SpokenChoice(field, value, label[:1].upper() + label[1:])))
      for words, field, value, label in FIXED),
    (_pattern(rf"(?:torque (?:of |is )?)?(?:(?:(?P<low>{_LOW})|{_HIGH}|{_ABOUT}|makes|making|takes|delivers|gives) )?"
              rf"(?P<n>{NUM}) ?-?(?P<unit>{_NM}|{_LBFT})(?: (?:of )?torque)?"), _torque),
    (_pattern(rf"torque (?:of |is )?(?P<n>{NUM})(?! ?(?:{_NM}|{_LBFT}))"), _bare_torque),
    (_pattern(rf"(?:(?:{_HIGH}|{_ABOUT}|makes|making|power of) )?(?P<n>{NUM}) ?(?P<unit>kw|b?hp|ps)"
              r"(?: (?:of )?power)?"),
     _power),
    (_pattern(rf"(?:(?:at|bench|rate|of|is) )*(?:{_SIGN} ?)?(?P<n>{NUM}) ?(?:{_CODE} ?)?"
              r"(?:an hour|per hour|/ ?h(?:our)?)"),
     _rate),
    (_pattern(rf"(?:bench )?rate (?:of |is )?(?:{_SIGN} ?)?(?P<n>{NUM})(?: ?{_CODE})?"), _rate),
    (_pattern(rf"(?:another (?:one|box|gearbox|engine)|a replacement|not doing it|leaving it) (?:costs|is|for) "
              rf"(?:{_SIGN} ?)?(?P<n>{NUM})(?: ?{_CODE})?"), _money),
    (_pattern(rf"(?:{_MOST} )?(?:{_SIGN} ?)(?P<n>{NUM})"), _money),
    (_pattern(rf"(?:{_MOST} )?(?P<n>{NUM}) ?{_CODE}"), _money),
    (_pattern(rf"(?:(?:ready|done|finished) )?(?:(?:{_HIGH}|deadline|deadline of) )?(?P<n>{NUM}) ?"
              r"(?P<unit>(?:working |work )?days?|weeks?)"), _deadline),
    (_pattern(rf"(?:(?:ready|done|finished) )?(?:within|in|under) {_A_WEEK}"), _week),
    (_pattern(rf"(?:(?:ready|done|finished) )?(?P<by>by|until|before|till|on) (?:the )?{DATE}"), _by_date),
    (_pattern(rf"(?:(?:{_HIGH}|{_LOW}|{_ABOUT}) )?(?P<n>{NUM}) ?(?:hours?|hrs?|h)"), _hours),
    (_pattern(r"(?:built(?: in)?|year(?: of build)?|model year|from|made in) (?P<n>(?:19|20)\d\d)"), _year),
    (_pattern(r"(?P<n>(?:19|20)\d\d) model"), _year),
    (_pattern(r"(?:at most |show |up to )?(?P<n>\d+) (?P<unit>routes|alternatives|ways)"), _routes),
    (_pattern(r"at most (?P<n>\d+)(?: things?)?(?: assumed| assumptions?)"), _assumed),
    (_pattern(r"assume at most (?P<n>\d+)(?: things?)?"), _assumed),
    (_pattern(rf"(?:{_HIGH.replace('|in|', '|')}) (?P<n>{NUM})"), _bare_money),
    (_pattern(r"(?P<n>(?:19[3-9]|20[0-4])\d)(?! ?(?:mm|rpm|in\b))"), _bare_year),
)  # fmt: skip

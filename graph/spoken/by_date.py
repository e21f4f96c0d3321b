"""A day as people say it: by Friday, by 4 December, by 2026-12-04, 4.12., tomorrow. No I/O.

ISO 8601 dates, and days before months with points; where day and month could be either, both are given.
"""

from __future__ import annotations

import re
from datetime import date, timedelta

_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth")  # as pieces.py spells 1st to 6th
_MONTH = "|".join(f"{name[:3]}(?:{name[3:]})?" if len(name) > 3 else name for name in _MONTHS)
DATE = (
    r"(?:(?P<iso>\d{4}-\d{1,2}-\d{1,2})"
    rf"|(?P<weekday>(?:next )?(?:{'|'.join(_DAYS)})(?:,? next week)?)|(?P<soon>tomorrow|today)"
    rf"|(?P<day>\d{{1,2}}|{'|'.join(_ORDINALS)})\.? (?:of )?(?P<month>{_MONTH})(?: (?P<year>\d{{4}}))?"
    rf"|(?P<month2>{_MONTH}) (?P<day2>\d{{1,2}})(?: (?P<year2>\d{{4}}))?"
    r"|(?P<first>\d{1,2})(?P<mark>[./])(?P<second>\d{1,2})(?:(?P=mark)(?P<year3>\d{4})?)?)"
)


def said_dates(match: re.Match[str], today: date) -> tuple[date, ...]:
    """The days that a match of DATE may mean; none for a day that no calendar has."""
    if match["iso"]:
        return _days((match["iso"].split("-"),))
    if match["soon"]:
        return (today + timedelta(1 if match["soon"] == "tomorrow" else 0),)
    if match["weekday"]:
        return _weekdays(match["weekday"], today)
    if match["first"]:
        orders = [(match["second"], match["first"])]
        if match["mark"] == "/" and match["first"] != match["second"]:
            orders.append((match["first"], match["second"]))
        return tuple(day for month, day in orders for day in _next(match["year3"], int(month), int(day), today))
    name, day, year = match["month"] or match["month2"], match["day"] or match["day2"], match["year"] or match["year2"]
    month = next(number for number, one in enumerate(_MONTHS, 1) if one[:3] == name[:3])
    number = _ORDINALS.index(day) + 1 if day in _ORDINALS else int(day)
    return _next(year, month, number, today)


def _weekdays(said: str, today: date) -> tuple[date, ...]:
    """The coming one, or that of next week where it is said so.

    Said on the day itself or with "next", it may also be that of the week after.
    """
    if said.endswith("next week"):
        return (today + timedelta(7 - today.weekday() + _DAYS.index(said.split(" ")[0].strip(","))),)
    ahead = (_DAYS.index(said.split()[-1]) - today.weekday()) % 7
    coming = today + timedelta(ahead)
    if said.startswith("next") or ahead == 0:
        return coming, coming + timedelta(7)
    return (coming,)


def _next(year: str | None, month: int, day: int, today: date) -> tuple[date, ...]:
    if year:
        return _days(((year, month, day),))
    return next((found for one in (today.year, today.year + 1) if (found := _days(((one, month, day),)))
                 and found[0] >= today), ())  # fmt: skip


def _days(parts: tuple[object, ...]) -> tuple[date, ...]:
    made = []
    for part in parts:
        year, month, day = (int(one) for one in part)  # type: ignore[attr-defined]
        try:
            made.append(date(year, month, day))
        except ValueError:
            continue
    return tuple(made)


def days_until(day: date, today: date) -> int:
    """Working days after today up to and with the day: Monday to Friday, holidays not known.

    >>> days_until(date(2026, 12, 4), date(2026, 11, 30))
    4
    """
    if day <= today:
        return 0
    weeks, rest = divmod((day - today).days, 7)
    return weeks * 5 + sum((today + timedelta(1 + one)).weekday() < 5 for one in range(rest))

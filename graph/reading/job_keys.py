"""What may be said of a job: how its keys read to a fitter, and which values of them count. No I/O.

The one place that decides it, for API, pages and commands. A value that no condition asks for and no list names would
count for nothing and say nothing; so it is refused, with what looks like it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable
from fractions import Fraction

from graph.catalogue.near import near_matches
from graph.reading.conditions import ORDERINGS

# A key that is not here is read as it stands.
KEY_WORDS = {
    "torque_nm": "Engine torque, Nm", "duty": "Duty", "tools": "Tools at hand", "ecu": "Engine management",
    "year": "Year of build", "power_kw": "Engine power, kW",
}  # fmt: skip
TORQUE, POWER, YEAR = "torque_nm", "power_kw", "year"  # numbers, whatever a condition asks of them
USUAL_DUTIES = ("road", "towing", "competition", "farm", "marine", "stationary")  # common practice
USUAL_TOOLS = (
    "press", "puller", "lathe", "mill", "pillar drill", "surface grinder", "welder", "hoist", "lift", "gearbox jack",
    "dial gauge", "micrometer", "torque wrench",
)  # fmt: skip  # common practice
USUAL_ECUS = ("none", "early", "late", "original", "standalone")  # common practice
USUAL_VALUES = {"duty": USUAL_DUTIES, "tools": USUAL_TOOLS, "ecu": USUAL_ECUS}
OTHER = "other"  # of any key: something else than what is asked for
FIRST_YEAR, LAST_YEAR = 1880, 2100
MOST_NAMED = 12

Asked = Collection[tuple[str, str, str]]  # key, operator, value of every condition


def faults_of_value(key: str, value: object, asked: Callable[[], Asked]) -> Iterable[str]:
    """What is wrong with the value of a key, or with each of its values; none: it counts, or nothing is said.

    `asked`: what the conditions of the facts ask; called only where no usual value is meant.

    >>> [fault] = faults_of_value("duty", "raod", lambda: ())
    >>> fault.partition(" It would")[0]
    "nothing is known of 'raod'; did you mean road?"
    >>> list(faults_of_value("year", "1985", lambda: ())), list(faults_of_value("tools", ("press",), lambda: ()))
    ([], [])
    """
    for one in value if isinstance(value, list | tuple) else (value,):
        said = str(one).strip()
        if one is not None and said and (fault := _fault(key, said, asked)):
            yield fault


def _fault(key: str, said: str, asked: Callable[[], Asked]) -> str:
    if key in (TORQUE, POWER):
        what, such = ("torque", "in Nm, such as 180") if key == TORQUE else ("power", "in kW, such as 80")
        return "" if (_number(said) or 0) > 0 else f"expected a {what} above 0 {such}; found {said!r}"
    if key == YEAR:
        plain = re.fullmatch(r"[0-9]{4}", said) and FIRST_YEAR <= int(said) <= LAST_YEAR
        return "" if plain else f"expected a year of {FIRST_YEAR} to {LAST_YEAR}, such as 1985; found {said!r}"
    usual = USUAL_VALUES.get(key, ())
    if _plain(said) in (OTHER, *usual):
        return ""
    found = [(op, value) for name, op, value in asked() if name == key]
    if not found and not usual:
        return ""  # the key itself is unknown, which is told of it
    known = sorted({*usual, *(value for op, value in found if op not in ORDERINGS)})
    if _plain(said) in map(_plain, known):
        return ""
    if any(_number(value) is not None for _, value in found):
        return "" if _number(said) is not None else f"expected a number; found {said!r}"
    if {"true", "false"}.intersection(map(_plain, known)) and _plain(said) in ("true", "false"):
        return ""
    near = near_matches(said, known)
    meant = f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(known[:MOST_NAMED])}."
    return (
        f"nothing is known of {said[:80]!r}; {meant} It would count for nothing: name one of these, {OTHER!r}, "
        f"or leave it out"
    )


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").replace("_", " ").split())


def _number(text: str) -> Fraction | None:
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None

"""Parts by the number of a published standard: bearings (ISO 15), flywheel housings (SAE J617), flywheels (SAE J620).

What is typed is read ("6309", "6309-2RS C3", "45 x 100 x 25", "SAE 3", "11-1/2") and told with the sizes that the
table has for it. A number that no table here has is said to be unknown, with what to enter instead.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.bearing_search import find_bearings, get_bearing
from graph.fits.model import NM_PER_MM, bare_mm
from graph.fits.numbers import read_number
from graph.fits.tables import Bearing, load_tables
from graph.fits.tables_drive import Flywheel, FlywheelHousing, load_drive_tables

BEARING, HOUSING, FLYWHEEL = "bearing", "housing", "flywheel"
FAMILY_OF = {
    "bearing": BEARING, "input-bearing": BEARING, "layshaft-bearing": BEARING, "pilot-bearing": BEARING,
    "spigot-bearing": BEARING, "outboard-bearing": BEARING, "bell-housing": HOUSING, "flywheel-housing": HOUSING,
    "flywheel": FLYWHEEL,
}  # fmt: skip
ASKED = {
    BEARING: "ISO number such as 6309, or bore x outside x width such as 45x100x25",
    HOUSING: "SAE number (SAE J617) such as 3",
    FLYWHEEL: "SAE clutch size (SAE J620) such as 11.5",
}
# Which sort of rolling bearing a number's first sign stands for (ISO 355, ISO 15; common practice of catalogues).
_SORTS = {
    "1": "self-aligning ball bearing", "2": "spherical roller or self-aligning bearing", "3": "tapered roller bearing",
    "4": "double-row ball bearing", "5": "thrust ball bearing", "7": "angular contact ball bearing",
    "8": "cylindrical roller thrust bearing", "N": "cylindrical roller bearing", "K": "needle roller assembly",
}  # fmt: skip
_SIZES = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_MEANT = {
    BEARING: re.compile(r"[A-Za-z]{0,3}\s?\d{3,6}(?:[-/ ].{0,20})?|[\d.,]+\s*[x×*].*", re.IGNORECASE),
    HOUSING: re.compile(r"(?:sae|no\.?|j617|#)[\s.]*[\s\d/jno.]*|\d{1,2}|1/2", re.IGNORECASE),
    FLYWHEEL: re.compile(r"(?:sae|no\.?|j620|#)[\s.]*[\s\d/jno.,-]*|[\d.,/ -]{1,7}", re.IGNORECASE),
}
INSTEAD = "add it as a new part by its name, then measure it: the sizes go in as readings"


@dataclass(frozen=True, slots=True)
class StandardPart:
    """A part of a published size. `number`: as it is ordered; `sizes`: in words; `source`: the standard.

    `rest`: what was typed behind the number, such as the seals and the clearance, of which the standard's sizes say
    nothing.
    """

    label: str
    number: str
    sizes: str
    source: str
    rest: str = ""

    @property
    def told(self) -> str:
        """How it was read: `6309: 45 x 100 x 25 mm (ISO 15)`."""
        return f"{self.number}: {self.sizes} ({self.source})"


def family_of(kinds: Collection[str]) -> str:
    """Which standard parts of these kinds follow; empty where none does."""
    return next((FAMILY_OF[kind] for kind in kinds if kind in FAMILY_OF), "")


def looks_standard(family: str, typed: str) -> bool:
    """Whether what was typed is meant as a number of that standard, rather than as a name.

    >>> looks_standard("bearing", "32008"), looks_standard("bearing", "old input bearing"), looks_standard("", "6309")
    (True, False, False)
    """
    return bool(family) and bool(_MEANT[family].fullmatch(typed.strip()))


def read_standard(family: str, typed: str, field: str) -> StandardPart:
    """The standard part meant. Raises InvalidInput at the field: unknown, or no number of that standard.

    >>> read_standard("bearing", "45x100x25", "").told
    '6309: 45 x 100 x 25 mm (ISO 15)'
    >>> read_standard("flywheel", "11-1/2", "").number
    'SAE J620 11.5'
    """
    return {BEARING: _bearing, HOUSING: _housing, FLYWHEEL: _flywheel}[family](typed.strip(), field)


def find_standard(family: str, number: str) -> StandardPart | None:
    """The standard part that is ordered under this number; None where it is no such number."""
    if not family or not number:
        return None
    try:
        return read_standard(family, number, "")
    except InvalidInput:
        return None


def _fault(field: str, message: str) -> InvalidInput:
    return InvalidInput([Problem(field, message)])


def _bearing(typed: str, field: str) -> StandardPart:
    if len(sizes := _SIZES.split(typed.removesuffix("mm").strip())) > 1:
        return _bearing_by_sizes(typed, sizes, field)
    match = re.match(r"([A-Za-z]*)\s*(\d{3,6})(?!\d)", typed)
    if match is None:
        raise _fault(field, f"{typed[:60]!r} is no bearing number; write it such as 6309, or its sizes as 45x100x25")
    letters, digits = match[1].upper(), match[2]
    if more := re.search(r"(?<![\w.-])[A-Za-z]{0,3}\d{4,6}(?!\w)", typed[match.end() :]):
        told = f"{typed[:60]!r} is more than one bearing number: {digits}, {more[0]}; write the one that sits here"
        raise _fault(field, told)
    try:
        return _as_part(get_bearing(load_tables(), letters + digits), typed)
    except NotFound as error:
        sort = _SORTS.get(letters[:1] or digits[0], "")
        of = f", by its number a {sort}," if sort else ""
        bore = int(digits[-2:]) * 5
        bored = f" (bore {bore} mm, if it is numbered as ISO bearings are)" if sort and bore >= 20 else ""
        near = f"; near ones: {', '.join(error.near)}" if error.near and not sort else ""
        told = f"{typed[:60]!r}{of} is not among the deep groove ball bearings of ISO 15 tabled here{bored}{near}"
        raise _fault(field, f"{told}; {INSTEAD}") from None


def _bearing_by_sizes(typed: str, sizes: list[str], field: str) -> StandardPart:
    if len(sizes) != 3:
        raise _fault(field, f"{typed[:60]!r} has {len(sizes)} sizes; write bore x outside x width, such as 45x100x25")
    bore, outside, width = (_millimetres(one, field) for one in sizes)
    found = find_bearings(load_tables(), bore_nm=bore, od_nm=outside, width_nm=width)
    if not found:
        near = [one for one in load_tables().bearings if one.bore_nm == bore][:3]
        told = f"; of that bore there are {'; '.join(_as_part(one, '').told for one in near)}" if near else ""
        raise _fault(field, f"no deep groove ball bearing of ISO 15 tabled here is {typed[:60]}{told}; {INSTEAD}")
    return _as_part(found[0], "")


def _millimetres(one: str, field: str) -> int:
    number = read_number(one, field, "45x100x25")
    if number.rest or (number.value * NM_PER_MM).denominator != 1:
        raise _fault(field, f"{one[:20]!r} is no size in mm; write bore x outside x width, such as 45x100x25")
    return int(number.value * NM_PER_MM)


def _as_part(bearing: Bearing, typed: str) -> StandardPart:
    sizes = " x ".join(_mm(nm) for nm in (bearing.bore_nm, bearing.od_nm, bearing.width_nm))
    name = typed if len(typed) > len(bearing.designation) else bearing.designation
    rest = name.removeprefix(bearing.designation).strip(" -/")
    return StandardPart(f"Bearing {name} ({sizes} mm)", bearing.designation, f"{sizes} mm", "ISO 15", rest)


def _mm(nm: int) -> str:
    plain = bare_mm(nm)
    return plain.rstrip("0").rstrip(".") if "." in plain else plain


def _named(typed: str) -> str:
    """What is left of `SAE J617 No. 3`, `sae 3` or `#3`: the number itself."""
    return re.sub(r"(?i)\b(sae|j617|j620|no|number|size|clutch)\b\.?|#", " ", typed).strip(" .,:")


def _housing(typed: str, field: str) -> StandardPart:
    rows = {row.number: row for row in load_drive_tables().housings}
    found = rows.get(_named(typed))
    if found is None:
        raise _fault(field, f"{typed[:60]!r} is no SAE housing number; there are {', '.join(rows)}; else {INSTEAD}")
    return StandardPart(f"Housing SAE {found.number}", f"SAE J617 {found.number}", _housing_sizes(found), "SAE J617")


def _housing_sizes(row: FlywheelHousing) -> str:
    return f"register {_mm(row.register_nm)} mm, bolt circle {_mm(row.bolt_circle_nm)} mm, {row.holes} holes"


def _flywheel(typed: str, field: str) -> StandardPart:
    rows = {read_number(row.clutch_size, field, "11.5").value: row for row in load_drive_tables().flywheels}
    sizes = ", ".join(row.clutch_size for row in rows.values())
    try:
        number = read_number(_named(typed), field, "11.5")
    except InvalidInput:
        raise _fault(field, f"{typed[:60]!r} is no SAE clutch size; there are {sizes}; else {INSTEAD}") from None
    found = rows.get(number.value)
    if found is None or number.rest:
        raise _fault(field, f"{typed[:60]!r} is no SAE clutch size; there are {sizes}; else {INSTEAD}")
    return StandardPart(
        f"Flywheel SAE {found.clutch_size}", f"SAE J620 {found.clutch_size}", _flywheel_sizes(found), "SAE J620"
    )


def _flywheel_sizes(row: Flywheel) -> str:
    holes = f", {row.holes} holes" if row.holes else ""
    return f"clutch recess {_mm(row.pilot_nm)} mm, bolt circle {_mm(row.bolt_circle_nm)} mm{holes}"

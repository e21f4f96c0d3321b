"""Lengths as people write them, turned into exact nanometres and into dimensions.

One unit per reading, and never a number without one; `graph.fits.quantity` reads them.
1 in = 25.4 mm exactly (ISO 80000-3); 1 thou = 0.001 in.
"""

from __future__ import annotations

from collections.abc import Iterable

from graph.errors import InvalidInput, Problem
from graph.fits.model import Dimension, show_nm
from graph.fits.quantity import quantity_of


def read_nm(text: str, path: str = "length") -> int:
    """A written length as whole nanometres. Raises InvalidInput for a missing or unknown unit or half a nanometre.

    >>> read_nm("1-1/16 in"), read_nm("12,5 mm"), read_nm("5 thou")
    (26987500, 12500000, 127000)
    """
    quantity = quantity_of(text, "length", path)
    if quantity.amount.denominator != 1:
        raise InvalidInput([Problem(path, f"{text!r} is finer than a nanometre; round the reading")])
    return quantity.amount.numerator


def measured(
    name: str,
    reading: str,
    uncertainty: str,
    *,
    datum: str = "",
    source: str = "measured",
    evidence_rank: int = 1,
    part: str = "",
) -> Dimension:
    """A dimension from a reading and the uncertainty of the tool, both as written ("25.3 mm", "0.05 mm").

    The limits are reading +/- uncertainty; the reading is kept as written. Raises InvalidInput, also for an
    uncertainty of zero: no reading is exact.
    """
    nominal, spread = read_nm(reading, name), read_nm(uncertainty, f"{name}.uncertainty")
    if spread <= 0:
        fault = f"no reading is exact; state the tool's uncertainty, found {uncertainty!r}"
        raise InvalidInput([Problem(f"{name}.uncertainty", fault)])
    return Dimension(
        name=name, nominal_nm=nominal, low_nm=nominal - spread, high_nm=nominal + spread, as_read=reading,
        uncertainty_nm=spread, datum=datum, source=source, evidence_rank=evidence_rank, part=part,
    )  # fmt: skip


def basic(name: str, size: str, *, source: str = "by definition", datum: str = "") -> Dimension:
    """An exact size, such as a standard's basic size or a wanted figure."""
    nm = read_nm(size, name)
    return Dimension(name=name, nominal_nm=nm, low_nm=nm, high_nm=nm, basic=True, source=source, datum=datum)


def require_positive(dimensions: Iterable[Dimension | None]) -> None:
    """Raises InvalidInput naming every dimension whose low limit is not above zero."""
    faults = [
        Problem(d.name, f"must be above zero, found {show_nm(d.low_nm)} at the low limit")
        for d in dimensions if d is not None and d.low_nm <= 0
    ]  # fmt: skip
    if faults:
        raise InvalidInput(faults)


def require_one_datum(dimensions: Iterable[Dimension | None]) -> str:
    """The datum that all given dimensions share. Raises InvalidInput where one has none or they differ."""
    present = [d for d in dimensions if d is not None and not d.basic]
    require_datum(present)
    data = sorted({d.datum for d in present})
    if len(data) > 1:
        raise InvalidInput([Problem("datum", f"taken from different faces ({', '.join(data)}); refer them to one")])
    return data[0] if data else ""


def require_datum(dimensions: Iterable[Dimension | None]) -> None:
    """Raises InvalidInput naming every dimension that does not say from which face it was taken."""
    faults = [
        Problem(f"{d.name}.datum", "no datum; say from which face it was taken")
        for d in dimensions if d is not None and not d.basic and not d.datum
    ]  # fmt: skip
    if faults:
        raise InvalidInput(faults)

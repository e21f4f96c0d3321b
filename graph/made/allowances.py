"""How a size follows from a reading: so much over or under it, whatever the true size within the reading's doubt is.

A hole that was read as 28.000 within 0.005 mm may be 27.995 or 28.005: a bush for it is made between the largest of
them with the least interference and the smallest with the most, so that it holds for both. What is left between is
the tolerance the machinist gets.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from graph.fits.limits import get_deviation
from graph.fits.model import Dimension
from graph.fits.tables import Tables
from graph.made.model import Limits

Rule = Callable[[Tables, Sequence[Dimension]], Limits]


def allowance(least_nm: int, most_nm: int) -> Rule:
    """The reading and from `least_nm` to `most_nm` more (less where below zero).

    >>> from graph.fits.model import Dimension
    >>> bore = Dimension(name="bore", nominal_nm=28_000_000, low_nm=27_995_000, high_nm=28_005_000)
    >>> allowance(10_000, 50_000)(None, [bore])
    (28015000, 28045000)
    """

    def limits(_tables: Tables, of: Sequence[Dimension]) -> Limits:
        return of[0].high_nm + least_nm, of[0].low_nm + most_nm

    return limits


def of_class(cls: str) -> Rule:
    """The reading with the deviations of an ISO 286 class at its size: a bore H7 over it, a spigot h7 in it."""

    def limits(tables: Tables, of: Sequence[Dimension]) -> Limits:
        row = get_deviation(tables, cls, of[0].nominal_nm)
        return of[0].high_nm + row.lower_nm, of[0].low_nm + row.upper_nm

    return limits


def part_way(part: int, whole: int, tolerance_nm: int) -> Rule:
    """Between two diameters, `part` of `whole` of the way from the first to the second: clear of what turns."""

    def limits(_tables: Tables, of: Sequence[Dimension]) -> Limits:
        inner, outer = (one.nominal_nm for one in of)
        middle = inner + (outer - inner) * part // whole
        return middle - tolerance_nm, middle + tolerance_nm

    return limits


def inside_both(land_nm: int, tolerance_nm: int) -> Rule:
    """So much smaller, all round, than the smaller of two diameters; a tolerance that only opens it."""

    def limits(_tables: Tables, of: Sequence[Dimension]) -> Limits:
        least = min(one.nominal_nm for one in of) - 2 * land_nm
        return least, least + tolerance_nm

    return limits


def turned_down(part: int, whole: int, cls: str) -> Rule:
    """`part` of `whole` of a diameter, to half a millimetre below, with the deviations of an ISO 286 class."""

    def limits(tables: Tables, of: Sequence[Dimension]) -> Limits:
        nominal = of[0].nominal_nm * part // whole // 500_000 * 500_000
        row = get_deviation(tables, cls, nominal)
        return nominal + row.lower_nm, nominal + row.upper_nm

    return limits

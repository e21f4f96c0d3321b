"""What another bearing in a bearing's place does to its life: a note for the reader, from published ratings.

Only where both are ordered by the designation of a published size and the ratings differ. Nobody has named a maker, so
the lowest tabled rating of the new bearing stands against the highest of the old; life goes with the cube of the
dynamic rating at the same load (ISO 281, ball bearings).
"""

from __future__ import annotations

from fractions import Fraction

from graph.answer.ground import Ground
from graph.answer.model.fit import BearingLife
from graph.fits.bearing_life import check_substitute, highest_ratings, lowest_ratings
from graph.fits.model import Verdict, show_number
from graph.fits.tables import Bearing, load_tables
from graph.search.result import Route


def bearing_lives(ground: Ground, route: Route) -> tuple[BearingLife, ...]:
    """One for each position where the route puts a bearing of another rating than the one found there."""
    found = []
    for position in ground.conversion.positions:
        new = _number(ground, ground.candidates[route.picks[position.id]].part)
        old = next((_number(ground, one.part) for one in position.candidates if one.as_found), "")
        if new and old and new != old:
            found.append((position.label or position.id, old, new))
    if not found:
        return ()
    tabled = {bearing.designation: bearing for bearing in load_tables().bearings if bearing.ratings}
    lines = (_line(place, tabled[old], tabled[new]) for place, old, new in found if old in tabled and new in tabled)
    return tuple(line for line in lines if line is not None)


def _number(ground: Ground, part: str) -> str:
    known = ground.catalogue.parts.get(part)
    return known.number if known else ""


def _line(place: str, old: Bearing, new: Bearing) -> BearingLife | None:
    before, after = highest_ratings(old), lowest_ratings(new)
    result = check_substitute(before, after)
    part = (after.dynamic_n / before.dynamic_n) ** 3
    text = (
        f"{place}: {new.designation} in place of {old.designation}, dynamic rating {_kn(after.dynamic_n)} against"
        f" {_kn(before.dynamic_n)} (lowest and highest of the tabled catalogues): life becomes"
        f" {show_number(part, 2)} of the old at the same load (ISO 281)"
    )
    shorter = result.verdict is Verdict.FAILS
    return BearingLife(place, old.designation, new.designation, part, shorter, text)


def _kn(newtons: Fraction) -> str:
    return f"{show_number(newtons / 1000, 2)} kN"


def to_confirm(lines: tuple[BearingLife, ...]) -> tuple[str, ...]:
    """The shorter lives: to be checked against the load with the rating of the bearing in hand."""
    return tuple(f"{line.words}; check it with the rating of the bearing in hand" for line in lines if line.shorter)

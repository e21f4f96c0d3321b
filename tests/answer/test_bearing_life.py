"""The life of a bearing put in another's place, at the same load: L10 = (C / P)^3 for balls (ISO 281).

Ratings: the lowest of the new and the highest of the old among the catalogue-typical values in
facts/standards/iso15_ball_bearings.csv, whose sources stand there: 6000 at most 4.85, 6004 at least 9.36, 6209 at least
32.5, 6309 at most 58.5 kN. The cubes are worked by hand.
"""

from __future__ import annotations

from fractions import Fraction

from graph.answer.bearing_life import bearing_lives, to_confirm
from graph.answer.ground import Ground
from graph.answer.model.fit import BearingLife
from graph.catalogue.model import Catalogue, Part
from graph.conversion.document import Candidate, Conversion, Position
from graph.search.result import Route


def lives(old: str, new: str) -> tuple[BearingLife, ...]:
    """The bearing ordered as `old` comes out, the one ordered as `new` goes in."""
    parts = {
        "old": Part(id="old", label="old", kind="input-bearing", number=old),
        "new": Part(id="new", label="new", kind="input-bearing", number=new),
    }
    candidates = (
        Candidate(id="old", label="old", part="old", as_found=True), Candidate(id="new", label="new", part="new"),
    )  # fmt: skip
    conversion = Conversion(
        gearbox="a", engine="b", rate_hundredths=1,
        positions=(Position("bearing", "at-input-bearing", "input bearing", candidates),),
    )  # fmt: skip
    one = Fraction(1)
    route = Route(
        picks={"bearing": "new"}, links={}, tasks=(), cash_hundredths=0, hours_hundredths=0, total=one, expected=one,
        days=one, p50=one, p90=one, chains_um={},
    )  # fmt: skip
    return bearing_lives(Ground(conversion, Catalogue(parts=parts)), route)


def test_a_lighter_series_on_the_same_shaft_lives_a_fraction_as_long() -> None:
    (line,) = lives("6309", "6209")

    assert line.life_part == Fraction(32_500, 58_500) ** 3  # (5/9)^3 = 0.1715
    assert "life becomes 0.17 of the old" in line.words
    assert line.shorter
    assert "6209 in place of 6309" in line.words
    assert "tabled catalogues" in line.words and "ISO 281" in line.words
    assert to_confirm((line,)) == (f"{line.words}; check it with the rating of the bearing in hand",)


def test_nearly_twice_the_rating_is_seven_times_the_life() -> None:
    """9.36 / 4.85 = 1.93, and its cube is 7.19."""
    (line,) = lives("6000", "6004")

    assert line.life_part == Fraction(936, 485) ** 3
    assert "9.36 kN against 4.85 kN" in line.words
    assert not line.shorter
    assert to_confirm((line,)) == ()


def test_the_same_bearing_and_one_without_a_published_size_say_nothing() -> None:
    assert lives("6309", "6309") == ()
    assert lives("", "6309") == ()
    assert lives("old stock", "6309") == ()


def test_no_maker_is_named() -> None:
    (line,) = lives("6309", "6209")

    assert "cat_" not in line.words and "catalogue a" not in line.words

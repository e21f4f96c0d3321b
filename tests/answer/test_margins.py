"""What the uncertainty of lengths leaves of a margin.

The plate window is the worked example of the trade notes: a 20 mm plate with a bearing shim leaves 13 mm of pilot
overlap where 12 are wanted; four readings, worst case 0.6 mm, leave 0.4. Sums by hand; worst case and RSS as in any
dimensioning text (limits add; half tolerances add as squares).
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from graph.answer.ground import Ground
from graph.answer.margins import doubts_of
from graph.answer.model.fit import NOT_ADVISABLE, UNKNOWN, WITH_PARTS
from graph.answer.model.route import AnsweredRoute
from graph.answer.route import answered_route
from graph.answer.verdict import with_doubts
from graph.catalogue.model import SHIFTS, Catalogue, Edge, Part
from graph.catalogue.terms import ChainKind, EvidenceLevel
from graph.conversion.document import Candidate, Chain, Conversion, Position
from graph.lookups.findings import NOTHING
from graph.reading.model import AS_FOUND, REPLACEMENT, CandidateOrigin
from graph.reading.outcome import Reading
from graph.reading.question import Question
from graph.search.result import Route

PLATE = 20_000
ONE = Fraction(1)


def shift(of: str, um: int, uncertainty_um: int | None, what: str = "") -> Edge:
    return Edge(
        id=f"{of}-{um}", kind=SHIFTS, source=of, target="overlap", shift_um=um, uncertainty_um=uncertainty_um,
        reason=what,
    )  # fmt: skip


# Bell depth 165, stick-out 190, bearing rear face 8 behind the block face; overlap = 8 + 190 - 165 - plate.
BEARING = shift("bearing", 8_000, 300, "bearing depth of the crankshaft")
STICK_OUT = shift("box", 190_000, 100, "stick-out of the gearbox")
DEPTH = shift("box", -165_000, 100, "housing depth of the bell housing")
THICKNESS = shift("plate", -PLATE, 100, "thickness of the plate")


def route(*shifts: Edge, low_um: int = 12_000) -> AnsweredRoute:
    """The plate behind the block, with what each length adds to the overlap."""
    value = sum(edge.shift_um for edge in shifts)
    standing = tuple(edge for edge in shifts if edge.source == "box")
    parts = {name: Part(id=name, label=name, kind=name) for name in ("bearing", "plate")}
    candidates = {
        name: Candidate(
            id=name, label=name, part=name, as_found=name == "bearing", cash_hundredths=0 if name == "bearing" else 100,
            shifts_um={"overlap": sum(edge.shift_um for edge in shifts if edge.source == name)},
        )
        for name in parts
    }  # fmt: skip
    conversion = Conversion(
        gearbox="box", engine="engine", rate_hundredths=6500,
        positions=tuple(Position(name, name, name, (candidate,)) for name, candidate in candidates.items()),
        chains=(Chain("overlap", "pilot overlap", sum(edge.shift_um for edge in standing), low_um, None),),
    )  # fmt: skip
    catalogue = Catalogue(
        parts=parts, chain_kinds={"overlap": ChainKind("overlap", "pilot overlap")},
        evidence_levels={"measured": EvidenceLevel("measured", "measured", rank=1)},
    )  # fmt: skip
    reading = Reading(
        question=Question(gearbox="box", engine="engine"), conversion=conversion, catalogue=catalogue, derived=NOTHING,
        candidates={
            name: CandidateOrigin(
                part, (), AS_FOUND if name == "bearing" else REPLACEMENT,
                tuple(edge for edge in shifts if edge.source == name),
            )
            for name, part in parts.items()
        },
        links={}, settled={}, evidence={}, standing_shifts=standing,
    )  # fmt: skip
    found = Route(
        picks={name: name for name in parts}, links={}, tasks=(), cash_hundredths=100, hours_hundredths=0,
        total=ONE, expected=ONE, days=ONE, p50=ONE, p90=ONE, chains_um={"overlap": value},
    )  # fmt: skip
    return answered_route(Ground(conversion, catalogue, reading), found, 1)


def test_a_stack_of_four_readings_leaves_a_thin_margin_and_says_what_to_read_again() -> None:
    answer = route(BEARING, STICK_OUT, DEPTH, THICKNESS)

    (overlap,) = answer.side_effects
    assert (overlap.value_um, overlap.margin_um) == (13_000, 1_000)
    assert overlap.worst_case_um == 600  # 0.3 + 0.1 + 0.1 + 0.1
    assert overlap.rss_um == 347  # root of 0.09 + 0.01 + 0.01 + 0.01 = 0.3464
    assert "worst case 0.6 mm either way leaves 0.4 mm" in overlap.words
    assert "(thin margin: re-measure bearing depth of the crankshaft)" in overlap.words
    assert overlap.verdict == "holds"
    assert answer.verdict == WITH_PARTS
    assert (
        "pilot overlap: thin margin, 0.4 mm left in the worst case; re-measure bearing depth of the crankshaft"
        in answer.to_confirm
    )


def test_four_equal_readings_add_as_squares_to_half_their_sum() -> None:
    readings = [replace(edge, uncertainty_um=150) for edge in (BEARING, STICK_OUT, DEPTH, THICKNESS)]

    (overlap,) = route(*readings).side_effects

    assert (overlap.worst_case_um, overlap.rss_um) == (600, 300)


def test_a_limit_that_the_worst_case_breaks_makes_the_verdict_unknown_and_asks_for_a_reading() -> None:
    answer = route(replace(BEARING, uncertainty_um=900), STICK_OUT, DEPTH, THICKNESS)

    (overlap,) = answer.side_effects
    assert overlap.verdict == "unknown"
    assert answer.verdict == UNKNOWN
    assert (
        "pilot overlap: the worst case is 0.2 mm outside its limit; measure bearing depth of the crankshaft again"
        in answer.to_confirm
    )


def test_what_is_not_advisable_stays_so_however_uncertain_its_lengths_are() -> None:
    (overlap,) = route(replace(BEARING, uncertainty_um=900), STICK_OUT, DEPTH, THICKNESS).side_effects

    assert with_doubts(NOT_ADVISABLE, [overlap]) == NOT_ADVISABLE


def test_lengths_without_a_stated_uncertainty_are_counted_aloud() -> None:
    (overlap,) = route(BEARING, replace(STICK_OUT, uncertainty_um=None), DEPTH, THICKNESS).side_effects

    assert "1 of 4 lengths without a stated uncertainty" in overlap.words


def test_a_wide_margin_asks_for_nothing() -> None:
    answer = route(BEARING, STICK_OUT, DEPTH, THICKNESS, low_um=10_000)

    assert answer.side_effects[0].to_confirm == ""
    assert answer.to_confirm == ()


def test_a_document_that_came_without_its_reading_has_no_doubts_to_tell() -> None:
    conversion = Conversion(gearbox="a", engine="b", rate_hundredths=1)

    assert doubts_of(Ground(conversion), None) == {}  # type: ignore[arg-type]


def test_a_margin_without_any_stated_uncertainty_says_that_its_worst_case_is_not_known() -> None:
    """Absent is unknown, never a worst case of nothing."""
    silent = [replace(edge, uncertainty_um=None) for edge in (BEARING, STICK_OUT, DEPTH, THICKNESS)]

    (effect,) = route(*silent).side_effects

    assert "margin 1.0 mm; worst case and RSS not known, no length states its uncertainty" in effect.words
    assert effect.worst_case_um is None and effect.rss_um is None


def test_a_margin_thinner_than_its_own_uncertainty_is_thin_however_many_millimetres_it_has() -> None:
    """Four readings of 1 mm leave 2 of 6 mm in the worst case, less than the 4 that they have taken."""
    rough = [replace(edge, uncertainty_um=1_000) for edge in (BEARING, STICK_OUT, DEPTH, THICKNESS)]

    (effect,) = route(*rough, low_um=7_000).side_effects

    assert "worst case 4.0 mm either way leaves 2.0 mm, RSS 2.0 mm leaves 4.0 mm" in effect.words
    assert "(thin margin: re-measure" in effect.words


def test_what_a_margin_prints_can_be_recomputed_from_its_own_numbers() -> None:
    """margin = value - limit; left = margin - worst case; root of the squares, rounded up to what is printed."""
    (effect,) = route(BEARING, STICK_OUT, DEPTH, THICKNESS).side_effects

    value, low, margin, worst, left, rss, rest = (float(n) for n in re.findall(r"(\d+(?:\.\d+)?) mm", effect.words)[:7])
    assert margin == pytest.approx(value - low)
    assert left == pytest.approx(margin - worst)
    assert rest == pytest.approx(margin - rss, abs=0.11)
    assert rss == pytest.approx((0.3**2 + 3 * 0.1**2) ** 0.5, abs=0.06)

"""Hub and flange adaptors between faces of other patterns: priced by hand, refused with the reason, never free.

Crankshaft: six M10 on a circle of 38; flywheel: eight holes of 11 on 64, off by 10 degrees. Steel 7833
kg/m3 (handbook).
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from math import ceil, cos, radians, sin

from ezdxf.filemanagement import read

from graph.answer.plate_asking import PlateAsked, ask_plate
from graph.catalogue.model import BoltFace, Measurement
from graph.derive.around import deriver_of
from graph.derive.explain import explain_edge
from graph.fits.model import Verdict
from graph.lookups.findings import PairFinding
from graph.lookups.index import CatalogueIndex
from graph.plates.dxf import piece_dxf
from tests.demo.shop import catalogue
from tests.derive.shop import measured
from tests.derive.test_made_parts_from_rates import CHEAP, facts

FLANGES = ("flange-tansy", "prop-sorrel")
PAIR = ("crank-ouzel", "flywheel-pipit")
READ = (
    measured("crank-register", PAIR[0], "50.000 mm", uncertainty="0.005 mm"),
    measured("flywheel-bore", PAIR[1], "60.000 mm", uncertainty="0.005 mm"),
)


def circle(
    of: str, joint: str, use: str, count: int, radius: float, size: int, *, first: float = 0, seen: str = "rear"
) -> BoltFace:
    block = catalogue().bolt_faces["face-block-pipit"]
    at = [radians(first + 360 / count * n) for n in range(count)]
    holes = tuple(
        replace(block.holes[0], id=f"{use[0]}{n}", x=f"{radius * cos(angle):.3f} mm", y=f"{radius * sin(angle):.3f} mm",
                diameter=f"{size} mm", use=use, thread="M10x1.5" if use == "thread" else "")
        for n, angle in enumerate(at)
    )  # fmt: skip
    return replace(block, id=f"face-{of}-{joint}", of=of, joint=joint, seen_from=seen, holes=holes)


def shop(rates: dict[str, int] | None, radius: float = 64, more: Iterable[Measurement] = READ) -> CatalogueIndex:
    whole = facts(more, rates, face=False).catalogue
    crank = circle(PAIR[0], "flywheel-to-crank", "thread", 6, 38, 10)
    wheel = circle(PAIR[1], "flywheel-to-crank", "clearance", 8, radius, 11, first=10, seen="front")
    return CatalogueIndex(replace(whole, bolt_faces={**whole.bolt_faces, crank.id: crank, wheel.id: wheel}))


def found(index: CatalogueIndex) -> PairFinding:
    return deriver_of(index).pair("flywheel-to-crank", *PAIR)


def test_a_hub_adaptor_is_priced_by_hand() -> None:
    """Eight holes and six with their counterbores: 20. Opening, rim, register and spigot: 4 diameters; 2 faces."""
    finding = found(shop(CHEAP))

    assert finding.result is not None and finding.result.verdict is Verdict.HOLDS_WITH_WORK
    thinnest = finding.made[0]
    assert thinnest.kind == "hub-adaptor" and "Hub adaptor, 15 mm, made" in thinnest.label
    reach = [64 * cos(radians(10 + 45 * n)) for n in range(8)]
    side = [64 * sin(radians(10 + 45 * n)) for n in range(8)]
    wide, high = (max(places) - min(places) + 2 * 15 for places in (reach, side))  # 1.5 x 10 about each hole
    blank = ceil(Fraction(wide * high * 15 * 7833 / 1e9) * 400 - Fraction(1, 100))
    by_hand = blank + 20 * 150 + 4 * 900 + 2 * 300 + 3_200 + 6_000
    assert thinnest.cash_hundredths is not None and abs(thinnest.cash_hundredths - by_hand) <= 2
    assert {edge.kind for edge in finding.edges} == {"fits", "shifts"}
    moved = {edge.target: edge.shift_um for edge in finding.edges if edge.source == thinnest.id}
    assert moved["release-gap"] == -15_000 and moved["starter-mesh-width"] == 15_000
    for edge in finding.edges:
        if edge.kind == "fits":
            assert explain_edge(shop(CHEAP), edge.id).edge == edge


def test_patterns_with_too_little_between_them_are_refused_with_both_holes() -> None:
    """Circles of 38 and 56: 4.4 mm between the rims at the best angle, 5 are wanted."""
    finding = found(shop(CHEAP, radius=56))

    assert finding.result is not None and finding.result.verdict is Verdict.FAILS and not finding.made
    assert "no hub adaptor" in finding.result.summary and "at least 5.000 mm wanted" in finding.result.summary


def test_without_a_rate_none_is_proposed_and_a_flat_price_stands_for_all() -> None:
    assert not found(shop(None)).made
    flat = found(shop({"make-hub-adaptor": 19_000}))

    assert {part.cash_hundredths for part in flat.made} == {19_000}


def test_what_is_not_measured_or_not_priced_makes_it_an_assumption() -> None:
    unread = found(shop(CHEAP, more=READ[:1]))
    unbalanced = found(shop({name: cash for name, cash in CHEAP.items() if name != "balance-flywheel"}))

    for finding, lacks in ((unread, "flywheel bore of Pipit flywheel"), (unbalanced, "price of 1 balancing")):
        into = [edge for edge in finding.edges if edge.id.endswith("--in")]
        assert into and all(edge.kind == "requires-machining" and edge.cash_hundredths is None for edge in into)
        assert all(any(lacks in one for one in edge.operations) for edge in into)


def flanges(rates: dict[str, int] | None) -> CatalogueIndex:
    """As the demo's labels have them: the Tansy's four bolts on 90, the Sorrel's propshaft four on 75."""
    whole = facts((), rates, face=False).catalogue
    faces = [
        circle(FLANGES[0], "prop-flange", "thread", 4, 45, 10),
        circle(FLANGES[1], "prop-flange", "clearance", 4, 37.5, 11, seen="front"),
    ]
    return CatalogueIndex(replace(whole, bolt_faces={**whole.bolt_faces, **{face.id: face for face in faces}}))


def test_a_flange_adaptor_makes_the_propshaft_shorter_by_its_thickness() -> None:
    index = flanges(CHEAP)

    finding = deriver_of(index).pair("prop-flange", *FLANGES)

    assert finding.made and finding.made[0].kind == "flange-adaptor"
    thick = int(finding.made[0].label.split(",")[1].strip().removesuffix(" mm"))
    moves = [edge for edge in finding.edges if edge.kind == "shifts" and edge.source == finding.made[0].id]
    assert [(edge.target, edge.shift_um) for edge in moves] == [("prop-length", thick * 1000)]
    assert finding.made[0].hours_hundredths == 40  # as the demo's bought one states
    assert finding.result is not None and "Whirling propshafts kill" in finding.result.cautions[0]


def test_an_adaptor_is_drawn_with_what_centres_it_or_says_that_it_is_not_measured() -> None:
    """Crank spigot 50.000 within 0.005 and flywheel bore 60.000 within 0.005: register 50.005 H7 (+0.030, ISO 286-2,
    50 to 80 mm) in the crank's side, spigot 59.995 h7 (-0.030) on the other; read back from the DXF by ezdxf."""
    asked = PlateAsked(a=PAIR[0], b=PAIR[1], joint="flywheel-to-crank", lean="180")

    whole = ask_plate(shop(CHEAP), asked).design
    half = ask_plate(shop(CHEAP, more=READ[:1]), asked).design

    figures = {one.name: one.value for one in whole.figures}
    assert figures["plate: register"] == "50.005 mm H7 (50.005 to 50.035), 5.000 mm deep from the engine's side"
    assert figures["plate: spigot"] == "59.995 mm h7 (59.965 to 59.995), 5.000 mm high on the gearbox's side"
    document = read(io.StringIO(piece_dxf(whole, whole.pieces[0]).decode()))
    shown = {(round(2 * one.dxf.radius, 3), one.dxf.linetype) for one in document.modelspace().query("CIRCLE")
             if one.dxf.layer == "DIMENSIONS"}  # fmt: skip
    assert shown == {(50.005, "DASHED"), (59.995, "BYLAYER")}
    assert not any("not measured" in one for one in whole.measure)
    assert half.pieces[0].spigot_um == 0
    assert "spigot of the adaptor: not measured, so not drawn; measure flywheel bore" in half.measure[0]


def test_no_adaptor_is_made_where_its_register_meets_the_holes() -> None:
    """A spigot of 70 between bolts on a circle of 38: 35 from the axis, their sunk heads begin at 38 - 9."""
    wide = (measured("crank-register", PAIR[0], "70.000 mm", uncertainty="0.005 mm"), READ[1])

    result = found(shop(CHEAP, more=wide)).result

    assert result is not None and result.verdict is Verdict.FAILS and "a register of 70.005 mm" in result.summary

"""New holes among old ones: placed by trigonometry, refused by a measured distance, read back off the drawings."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from math import atan2, degrees, hypot, sqrt

import numpy as np
import pypdfium2
import pytest
from ezdxf.filemanagement import read
from fastapi.testclient import TestClient
from markupsafe import escape

from api.app import create_app
from api.pages.redrill import RedrillView
from api.routers.redrilling import RedrillAnswer
from graph.answer.redrill_asking import RedrillAsked, ask_redrill
from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS
from graph.errors import InvalidInput
from graph.fits.pattern import CLEARANCE, DOWEL, THREAD, Face
from graph.plates.redrill import Redrilled, RedrillRefused, RedrillWanted, design_redrill
from graph.plates.redrill_drawn import redrill_dxf, redrill_pdf
from tests.derive.test_adaptors import PAIR, shop
from tests.derive.test_made_parts_from_rates import CHEAP
from tests.pages.templates import undocumented
from tests.plates.made import face, hole, ring

DPI = 300
CRANK = face("crank", *ring(THREAD, 6, 38, 10, thread="M10x1.5"))


def flywheel(radius: float = 64, first: float = 10, uncertainty: float = 0.05) -> Face:
    return face("flywheel", *ring(CLEARANCE, 8, radius, 11, first=first), uncertainty=uncertainty)


def asked(**more: object) -> RedrillWanted:
    values = {"drilled": flywheel(), "kept": CRANK, "turns": True, "rim_um": 280_000, "opening_um": 40_000}
    return RedrillWanted(**(values | more))  # type: ignore[arg-type]


def drilled(**more: object) -> Redrilled:
    found = design_redrill(asked(**more))
    assert isinstance(found, Redrilled), found
    return found


def test_the_wheel_is_turned_to_where_most_metal_stays() -> None:
    """Six on 38 among eight on 64, the least wall by trigonometry: at every angle the nearest two are 45 and 60 degrees
    about their circles; where an old hole's direction lies midway between two new ones as often as can be, the nearest
    pair stands 7.5 degrees apart (eight and six share a step of 15)."""
    found = drilled()

    assert found.least is not None and not found.measure and len(found.new) == 6
    pairs = [hypot(a.x_um - b.x_um, a.y_um - b.y_um) / 1000 - 11 for a in found.new for b in found.old]
    best = sqrt(38**2 + 64**2 - 2 * 38 * 64 * 0.991444861) - 11  # cos 7.5 degrees
    assert min(pairs) == pytest.approx(best, abs=0.01)
    turns = {round(degrees(atan2(one.y_um, one.x_um)) % 60, 2) for one in found.new}
    assert len(turns) == 1 and {one.drill_um for one in found.new} == {11_000}  # ISO 273 medium for M10


def test_old_holes_too_near_are_refused_by_name_at_five_millimetres() -> None:
    """Rims of 11 on circles of 38 and 54: 16 apart in one direction leaves 5.0; on 53.9 it leaves 4.9."""
    both = {"drilled": face("wheel", hole("o", 54, 0, 11, CLEARANCE)), "kept": face("crank", hole("n", 38, 0)),
            "turn_deg": 0.0}  # fmt: skip

    stands = design_redrill(asked(**both))
    near = design_redrill(asked(**both | {"drilled": face("wheel", hole("o", 53.9, 0, 11, CLEARANCE))}))

    assert isinstance(stands, Redrilled) and stands.least == (5_000, "N-n", "O-o")
    assert [one for one in stands.measure if "N-n and O-o more closely: 5.000 mm" in one]
    assert isinstance(near, RedrillRefused)
    assert near.reasons[0].what == "N-n and O-o of wheel: 4.900 mm between their rims, at least 5.000 mm wanted"


def test_an_edge_is_kept_by_its_rule_or_asked_for() -> None:
    """1.5 x 10 from the axis to the rim, common practice: 38 + 15 is 53, a rim of 106; 105.9 is too small."""
    alone = {"drilled": face("wheel", hole("o", -38, 0, 11, CLEARANCE)), "kept": face("crank", hole("n", 38, 0)),
             "turn_deg": 0.0}  # fmt: skip

    for rim, stands in ((106_000, True), (105_900, False)):
        assert isinstance(design_redrill(asked(**alone, rim_um=rim)), Redrilled) is stands
    for opening, stands in ((46_000, True), (46_100, False)):
        assert isinstance(design_redrill(asked(**alone, opening_um=opening)), Redrilled) is stands
    unknown = drilled(**alone, rim_um=None, opening_um=None)
    assert [one.split(" of wheel")[0] for one in unknown.measure] == ["the rim", "the opening"]


def test_old_holes_that_cannot_stand_so_are_refused_by_name() -> None:
    """Two bores of 11 need 11 between their axes to be two; a ring dowel about its own screw is one bore of two steps.
    An opening of 40 has no metal within 20 of the axis, a rim of 280 none beyond 140; 0.05 is what places may be off.
    """
    spot = [hole(f"o{n}", 64, 0, 11, CLEARANCE) for n in range(6)]
    apart = [hole("a", 64, 0, 11, CLEARANCE), hole("b", 64, 10.99, 11, CLEARANCE)]
    ringed = [hole("a", 0, -70, 8, CLEARANCE), hole("d", 0, -70, 14, DOWEL)]
    for old, said in (
        (spot, "old holes o0 and o1 of w lie on each other"),
        (apart, "old holes a and b of w lie on each other"),
        ([ringed[1], replace(ringed[1], id="e")], "old holes d and e of w lie on each other"),
        ([hole("i", 0, 19.9, 11, CLEARANCE)], "old hole i of w lies inside the opening of 40.000 mm"),
        ([hole("r", -140.1, 0, 11, CLEARANCE)], "old hole r of w lies beyond the rim of 280.000 mm"),
    ):
        found = design_redrill(asked(drilled=face("w", *old)))
        assert isinstance(found, RedrillRefused) and found.reasons[0].what.startswith(said)
        assert found.reasons[0].move == "check the places"

    twice = design_redrill(asked(kept=face("k", *(replace(one, use=THREAD) for one in spot))))
    assert isinstance(twice, RedrillRefused) and "holes o0 and o1 of k lie on" in twice.reasons[0].what
    touching = [apart[0], replace(apart[1], y_nm=11_000_000)]
    for old in (touching, ringed):
        assert not drilled(drilled=face("w", *old)).measure
    notch = drilled(drilled=face("w", hole("n", 0, 22, 11, CLEARANCE), hole("m", 0, -139, 11, CLEARANCE)))
    assert [one.split(" mm as read")[0] for one in notch.measure if "breaks" in one] == [
        "old hole n of w breaks through the opening of 40.000", "old hole m of w breaks through the rim of 280.000"
    ]  # fmt: skip


@pytest.mark.parametrize(("rim", "opening"), [(10_000, 40_000), (300_000, 400_000), (40_000, 40_000)])
def test_a_rim_within_the_opening_is_refused_at_both_fields(rim: int, opening: int) -> None:
    with pytest.raises(InvalidInput) as caught:
        design_redrill(asked(rim_um=rim, opening_um=opening))

    assert [one.path for one in caught.value.problems] == ["rim", "opening"]


def test_no_reason_speaks_of_less_than_nothing_or_reads_as_if_it_were_enough() -> None:
    """10 between the axes of two bores of 11: they overlap by 1. An axis on 38 lies 8 beyond a rim of 60 (radius 30)
    and 2 inside an opening of 80 (radius 40)."""
    alone = {"kept": face("k", hole("n", 38, 0)), "turn_deg": 0.0}

    for more, said in (
        ({"drilled": face("w", hole("o", 48, 0, 11, CLEARANCE))},
         "N-n and O-o of w: they overlap by 1.000 mm; at least 5.000 mm of metal must stay between them"),
        ({"drilled": face("w", hole("o", -25, 0, 8, CLEARANCE)), "rim_um": 60_000},
         "N-n: its axis lies 8.000 mm beyond the rim of 60.000 mm; it must lie 15.000 mm within the metal"),
        ({"drilled": face("w", hole("o", -60, 0, 8, CLEARANCE)), "opening_um": 80_000},
         "N-n: its axis lies 2.000 mm inside the opening of 80.000 mm; it must lie 15.000 mm within the metal"),
    ):  # fmt: skip
        found = design_redrill(asked(**alone | more))
        assert isinstance(found, RedrillRefused) and [one.what for one in found.reasons] == [said]


def test_an_old_hole_that_does_is_used_and_what_has_threads_gets_threads() -> None:
    """Eight plain holes of 11.5 on the crank's own circle: two of six meet, 180 degrees apart ((H - F) / 2 = 0.75, ASME
    Y14.5); the others would cut into old ones. A cover's plain holes on a wheel with threads become threads."""
    met = design_redrill(asked(drilled=face("w", *ring(CLEARANCE, 3, 38, 11.5)), kept=CRANK))
    cover = face("cover", *ring(CLEARANCE, 6, 150, 9, first=20))
    tapped = drilled(drilled=face("w", *ring(THREAD, 6, 130, 8, thread="M8x1.25")), kept=cover, rim_um=340_000)

    assert isinstance(met, Redrilled) and len(met.served) == 3 and len(met.new) == 3
    assert {(one.use, one.drill_um) for one in tapped.new} == {("tapped", 6_750)}  # d - P


def test_a_pattern_read_from_the_other_side_is_mirrored() -> None:
    kept = face("crank", hole("n", 38, 10), hole("d", -30, 20, 8, DOWEL), seen_from="front")

    found = drilled(kept=kept, drilled=face("w", hole("o", 0, -90, 11, CLEARANCE)), turn_deg=0.0)

    assert [(one.x_um, one.y_um) for one in found.new] == [(-38_000, 10_000), (30_000, 20_000)]


def test_the_dxf_cuts_the_new_holes_and_nothing_that_is_there() -> None:
    found = drilled()

    document = read(io.StringIO(redrill_dxf(found).decode()))

    assert document.audit().errors == []
    circles = document.modelspace().query("CIRCLE")
    cut = sorted((c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius) for c in circles if c.dxf.layer == "DRILL")
    for got, hole_ in zip(cut, sorted((h.x_um / 1000, h.y_um / 1000, 11.0) for h in found.new), strict=True):
        assert got == pytest.approx(hole_, abs=0.001)
    assert {c.dxf.layer for c in circles} == {"DRILL", "DIMENSIONS"}
    assert len([c for c in circles if c.dxf.layer == "DIMENSIONS" and c.dxf.linetype == "DASHED"]) == 8 + 2


def test_the_paper_is_at_one_to_one() -> None:
    """A hole 60 mm above another, each of 20: their rims, measured in PDFium's picture along the line between them."""
    holes = (hole("a", 0, 30, 20, DOWEL), hole("b", 0, -30, 20, DOWEL))
    found = drilled(kept=face("k", *holes), drilled=face("w", hole("o", 60, 0, 9)), rim_um=None, turn_deg=0.0,
                    opening_um=None)  # fmt: skip

    document = pypdfium2.PdfDocument(redrill_pdf(found))
    last = document[len(document) - 1]
    assert "NOT PROVEN" in last.get_textpage().get_text_range()
    picture = 255.0 - np.asarray(last.render(scale=DPI / 72, grayscale=True).to_numpy()).squeeze()
    document.close()
    column = picture[:, round((105 + 6) / 25.4 * DPI)]  # 6 mm beside the axis: half chords of 8 mm, beyond all crosses
    dark = np.flatnonzero(column > 100) / DPI * 25.4
    rims = [float(np.mean(part)) for part in np.split(dark, np.flatnonzero(np.diff(dark) > 0.5) + 1)]
    inside = [one - (14 + (297 - 28 - 18) / 2) for one in rims if 16 < one < 260]
    for place in (-38, -22, 22, 38):
        assert min(abs(one - place) for one in inside) < 0.1


@pytest.fixture(scope="module")
def service() -> Iterator[TestClient]:
    with TestClient(create_app(shop(CHEAP).catalogue), raise_server_exceptions=False) as client:
        yield client


def test_every_door_gives_the_drawing_and_says_what_is_not_known(service: TestClient) -> None:
    """The flywheel's bore is read (60.000 within 0.005): 38 less 30.0025 is 8 mm for a hole that wants 15. With a bore
    of 40 typed instead the rim is not known yet."""
    params = {"drilled": PAIR[1], "kept": PAIR[0]}
    read = service.get("/redrilling/design.json", params=params).json()
    assert read["verdict"] == "refused" and "7.997 mm from its axis to the opening" in read["reasons"][0]["what"]
    params |= {"opening": "40 mm"}

    open_rim = RedrillAnswer.model_validate(service.get("/redrilling/design.json", params=params).json())
    page = service.get("/redrill", params=params | {"rim": "280 mm"}).text

    assert open_rim.verdict == "to measure" and "the rim of" in open_rim.measure[0]
    assert open_rim.design is not None and len(open_rim.design["new"]) == 6
    assert "PDF at 1:1" in page and "Not proven" not in page and "clearance for a M10x1.5" in page
    for form in ("dxf", "pdf", "svg"):
        assert service.get(f"/redrilling/design.{form}", params=params).status_code == 200
    assert undocumented(RedrillView) == []


def test_what_is_wrong_is_said_at_the_field_that_was_sent(service: TestClient) -> None:
    hole_ = {"id": "a", "x": "38 mm", "y": "0 mm", "diameter": "9.5 mm"}
    face_ = {"label": "w", "axis": "axis", "seen_from": "rear", "uncertainty": "0.1 mm", "holes": [hole_]}
    many = [hole_ | {"id": str(n), "x": f"{n * 20} mm", "diameter": "11 mm"} for n in range(1, 50)]

    for more, paths in (
        ({"drilled": face_ | {"holes": []}}, {"drilled", "drilled.holes"}),
        ({"kept": face_}, {"thread"}),
        ({"kept": face_ | {"holes": many}}, {"kept.holes"}),
    ):
        sent = {"drilled": PAIR[1], "kept": PAIR[0], "opening": "40 mm"} | more
        told = service.post("/redrilling/design.json", json=sent).json()
        assert {one["path"] for one in told["problems"]} == paths
        assert "in a plate" not in told["detail"]


def test_a_starter_pad_that_is_not_drawn_names_each_missing_reading() -> None:
    with TestClient(create_app(load_catalogue([DEMO_FACTS]))) as demo:
        index = shop(CHEAP)
        bells = sorted(name for name, part in index.catalogue.parts.items() if part.kind == "bell-housing")
        starters = sorted(name for name, part in index.catalogue.parts.items() if part.kind == "starter")
        params = {"joint": "starter-to-housing", "drilled": bells[0], "kept": starters[0]}

        found = demo.get("/redrilling/design.json", params=params).json()
        page = demo.get("/redrill", params=params).text

    assert found["verdict"] == "to measure" and found["design"] is None
    assert any("about the axis of the starter's bore" in one for one in found["measure"])
    assert any("metal behind the pad" in one for one in found["measure"])
    assert all(escape(one) in page for one in found["measure"])


def test_a_part_is_not_drilled_for_itself() -> None:
    index = shop(CHEAP)

    with pytest.raises(Exception, match="the one it bolts to"):
        ask_redrill(index, RedrillAsked(joint="flywheel-to-crank", drilled=PAIR[1], kept=PAIR[1]))


def test_places_read_too_roughly_for_the_wall_are_told() -> None:
    rough = drilled(drilled=replace(flywheel(54), uncertainty_nm=2_000_000))

    assert any("more closely" in one for one in rough.measure)


def test_an_old_hole_that_the_bolt_cannot_pass_is_not_used_though_the_thread_was_measured_at_its_drill() -> None:
    """M10 is 10 mm over its threads (ISO 261), its tapping drill 8.5 mm (ISO 2306): 9 mm passes the one only."""
    kept = face("crank", *ring(THREAD, 6, 39, 8.5, thread="M10x1.5"))

    narrow = design_redrill(asked(kept=kept, drilled=face("wheel", *ring(CLEARANCE, 6, 39, 9))))
    wide = drilled(kept=kept, drilled=face("wheel", *ring(CLEARANCE, 6, 39, 11)))

    assert not isinstance(narrow, Redrilled) or not narrow.served
    assert len(wide.served) == 6

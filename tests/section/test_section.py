"""The drawn section: every length is the fact's, every margin the answer's; what nobody stated is never a length.

LAYSHAFT_SECTIONS: how many assemblies made by chance are drawn and added up (25)."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from graph.answer.asking import answer_question
from graph.answer.model.answer import Answer
from graph.answer.section import NOTHING_DRAWN
from graph.answer.section_drawing import section_drawing
from graph.answer.section_faces import SIGNS, Faces, HeldPart
from graph.answer.section_pieces import pieces_of
from graph.answer.serial import answer_as_json
from graph.catalogue.load import load_catalogue
from graph.errors import Conflict
from graph.fits.length_chain import find_reach
from graph.fits.length_sheet import BLOCK_FACE, DATUMS, BoxSide, EngineSide, chain_of
from graph.fits.model import Dimension
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from graph.section.labels import LABEL_X, LINE
from graph.section.layout import plan_sheet
from graph.section.model import AFTER, BEFORE, BOX_FACE, STATES, AssemblyCut, CutGap, CutPiece
from graph.section.sheet import section_svg, section_svgs
from tests.section.reading import mm, read_sheet

EXAMPLES = int(os.environ.get("LAYSHAFT_SECTIONS", "25"))
FACTS = Path(__file__).parents[2] / "facts"
PAIRS = (
    ("tansy-5", "pipit-16", ""), ("tansy-5", "ouzel-20", "sorrel-pick-up"), ("hollin-5", "whimbrel-30", ""),
    ("sedge-4a", "ouzel-20", "sorrel-pick-up"), ("tansy-5", "dunlin-25d", ""), ("hollin-5l", "pipit-16", ""),
)  # fmt: skip


@cache
def demo() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([FACTS / "demo"]))


@cache
def asked(gearbox: str, engine: str, vehicle: str) -> Answer:
    return answer_question(demo(), Question(gearbox=gearbox, engine=engine, vehicle=vehicle))


@cache
def stated_lengths() -> dict[tuple[str, str], float]:
    """What the demo's fact file says each part adds to each chain: read as text, past the program's own reader."""
    text = (FACTS / "demo" / "lengths.ttl").read_text(encoding="utf-8")
    said = re.findall(r"lay:source shop:(\S+) ; lay:target kind:(\S+) ; lay:shiftMm (-?[\d.]+)", text)
    return {(part, chain): float(length) for part, chain, length in said}


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: "+".join(filter(None, pair)))
def test_margins_and_gaps_in_the_picture_are_those_of_the_answer(pair: tuple[str, str, str]) -> None:
    answer = asked(*pair)
    for route, told in zip(answer.routes, answer_as_json(answer)["routes"], strict=True):
        sheet = read_sheet(section_drawing(route))
        effects = {effect["chain"]: effect for effect in told["side_effects"]}

        gaps = sheet.all("after", "gap")

        assert {gap.data["gap"] for gap in gaps} == {
            chain for chain in SIGNS if effects.get(chain) and effects[chain]["value_mm"] is not None
        }
        for gap in gaps:
            effect = effects[gap.data["gap"]]
            assert gap.long_mm == pytest.approx(abs(effect["value_mm"]), abs=sheet.pixel_mm / 20)
            assert mm(gap.data["value-mm"]) == effect["value_mm"] and mm(gap.data["margin-mm"]) == effect["margin_mm"]
            assert gap.data["state"] in STATES and gap.data["state"] in effect["how_surely"]
        for shown in sheet.all("after", "offset"):
            effect = effects[shown.data["offset"]]
            assert (
                mm(shown.data["value-mm"]) == effect["value_mm"] and mm(shown.data["margin-mm"]) == effect["margin_mm"]
            )


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: "+".join(filter(None, pair)))
def test_every_drawn_length_is_what_the_fact_file_says_of_the_part(pair: tuple[str, str, str]) -> None:
    """Geometry by hand: a housing's depth is what it takes from the pilot overlap, a flywheel's what it takes from the
    release gap, and so on."""
    facts = stated_lengths()
    chain_of_piece = {
        "bell housing": "pilot-overlap", "plate": "pilot-overlap", "flywheel": "release-gap",
        "clutch cover": "release-gap", "release bearing": "release-gap",
    }  # fmt: skip
    seen = 0
    for route in asked(*pair).routes:
        sheet = read_sheet(section_drawing(route))
        for when in sheet.columns:
            for shape in sheet.all(when, "piece"):
                first, last = mm(shape.data["from-mm"]), mm(shape.data["to-mm"])
                if first is not None and last is not None:
                    assert shape.top_mm == pytest.approx(first, abs=sheet.pixel_mm / 20)
                    assert shape.bottom_mm == pytest.approx(last, abs=sheet.pixel_mm / 20)
                said = facts.get((shape.data["part"], chain_of_piece.get(shape.data["piece"], "")))
                if said is not None:
                    assert shape.long_mm == pytest.approx(abs(said), abs=sheet.pixel_mm / 20)
                    seen += 1
    assert seen


def test_the_flagship_is_drawn_as_the_hand_sum_says() -> None:
    """Pipit: pilot to 16 behind the block; Hollin housing 150, late case 43, Tansy stick-out 190: the tip stands at
    150 + 43 - 190 = 3, so 13 of the nose are in the pilot. Before, behind the Dunlin, its own: 165 - 190 = -25, pilot
    to -9, so 16."""
    sheet = read_sheet(section_drawing(asked("tansy-5", "pipit-16", "").routes[0]))

    after, before = sheet.one("after", "gap", "pilot-overlap"), sheet.one("before", "gap", "pilot-overlap")

    assert (after.top_mm, after.bottom_mm) == pytest.approx((3, 16), abs=0.01)
    assert (before.top_mm, before.bottom_mm) == pytest.approx((-25, -9), abs=0.01)


def test_what_moved_the_lever_is_drawn_share_by_share() -> None:
    route = asked("tansy-5", "ouzel-20", "sorrel-pick-up").routes[0]

    sheet = read_sheet(section_drawing(route))

    shares = [s for s in sheet.all("after", "share") if s.data["share"] == "lever-offset"]
    value = next(effect.value_um for effect in route.side_effects if effect.chain == "lever-offset")
    ends = [(mm(s.data["from-mm"]), mm(s.data["to-mm"])) for s in shares]
    assert ends[0][0] == 0 and all(one[1] == other[0] for one, other in pairwise(ends))
    assert value is not None and ends[-1][1] == value / 1000
    for share, (first, last) in zip(shares, ends, strict=True):
        assert share.long_mm == pytest.approx(abs((last or 0) - (first or 0)), abs=sheet.pixel_mm / 20)


def test_a_length_that_is_measured_of_a_part_alone_is_told_with_it() -> None:
    """The Sedge 4A's tail was read as 310 mm; where along the axis it begins nobody has stated."""
    route = asked("sedge-4a", "ouzel-20", "sorrel-pick-up").routes[0]
    assert route.section is not None

    told = {piece.name: piece.words for piece in route.section.after.pieces}

    assert told["tail housing"] == (
        "310.0 mm from the case's rear face to the output flange; place along the axis not stated"
    )


def test_a_pilot_bearing_of_known_width_is_drawn_whole() -> None:
    pilot = HeldPart("pilot", "p", "pilot", "at-pilot", shifts_um={"pilot-overlap": 8_000}, own_um=16_000)

    piece = next(one for one in pieces_of(Faces([pilot]), {}, behind=False) if one.name == "pilot bearing")

    assert (piece.from_um, piece.to_um) == (-8_000, 8_000)


def test_what_the_before_rests_on_stands_in_the_drawing_itself() -> None:
    markup = section_drawing(asked("tansy-5", "pipit-16", "").routes[0])

    assert "taken as its own engine" in " ".join(read_sheet(markup).texts)


def test_a_gearbox_whose_own_engine_nobody_names_is_drawn_alone_and_says_so() -> None:
    section = asked("hollin-5", "whimbrel-30", "").routes[0].section

    assert section is not None and section.before is not None
    assert "by itself" in section.before.title and not section.before.gaps
    assert any("its own engine is not known" in remark for remark in section.before.remarks)


def test_units_without_any_length_get_a_sentence_and_no_empty_drawing() -> None:
    house = load_catalogue([FACTS / "demo"])
    bare = replace(house, edges={k: e for k, e in house.edges.items() if e.kind != "shifts"}, measurements={})
    answer = answer_question(CatalogueIndex(bare), Question(gearbox="tansy-5", engine="pipit-16", alternatives=0))

    section = answer.routes[0].section

    assert section is not None and section.says == NOTHING_DRAWN and not section.cuts()
    with pytest.raises(Conflict, match="nobody has stated or measured a length"):
        section_drawing(answer.routes[0])


# Against the measuring sheet, which adds up the same assembly from readings by code of its own.

LENGTHS = st.integers(1, 300_000)


@st.composite
def assemblies(draw: Any) -> dict[str, int]:
    """Micrometres, as `EngineSide` and `BoxSide` name them."""
    names = (
        "crank_flange", "bore_depth", "bearing_inset", "friction_face", "fingers", "hub_front", "hub_length",
        "ring_front", "ring_width", "bell_depth", "stick_out", "nose_length", "spline_start", "spline_length",
        "bearing_height", "pinion_out", "pinion_travel", "plate",
    )  # fmt: skip
    return {name: draw(LENGTHS) for name in names}


@given(assemblies())
@settings(max_examples=EXAMPLES, deadline=None)
def test_faces_lie_where_the_measuring_sheet_puts_them(um: dict[str, int]) -> None:
    """Every chain's two faces stand apart by what `graph.fits.length_sheet` reckons from the same readings."""
    faces = Faces(held_parts(um))

    for chain, name in NAMES.items():
        front, rear = faces.engine_face(chain), faces.box_side_face(chain)
        reach = find_reach(measured_sheet(um), name, {"plate": um["plate"] * 1000})
        assert front is not None and rear is not None and reach is not None
        forms = reach.requirement.forms
        wanted = forms[0 if chain != "pilot-overlap" else 1].stack(name, {"plate": um["plate"] * 1000}).nominal_nm
        if chain == "starter-mesh-width":
            wanted = forms[1].stack(name, {"plate": um["plate"] * 1000}).nominal_nm
        assert SIGNS[chain] * (front - rear) * 1000 == wanted
    assert not faces.torn


NAMES = {
    "pilot-overlap": "pilot overlap", "shoulder-to-bearing": "shoulder to bearing",
    "tip-to-bore-bottom": "tip to bore bottom", "release-gap": "release gap", "starter-rest-gap": "starter rest gap",
    "starter-mesh-width": "starter mesh", "spline-spare-front": "spline spare in front",
    "spline-spare-rear": "spline spare behind",
}  # fmt: skip


def held_parts(um: dict[str, int]) -> list[HeldPart]:
    """The same lengths as parts state them: what each adds to every chain (facts/kinds/chain-kinds.ttl)."""
    flange, friction = um["crank_flange"], um["friction_face"]
    ring = um["ring_front"] + um["ring_width"]
    pilot = flange - um["bearing_inset"]
    start, end = um["stick_out"] - um["spline_start"], um["stick_out"] - um["spline_start"] - um["spline_length"]

    def behind(depth: int) -> dict[str, int]:
        return {chain: -SIGNS[chain] * depth for chain in SIGNS}

    crank = {chain: SIGNS[chain] * flange for chain in SIGNS if "pilot" not in chain and "shoulder" not in chain}
    crank["tip-to-bore-bottom"] = um["bore_depth"] - flange
    fly = {chain: SIGNS[chain] * friction for chain in ("release-gap", "spline-spare-front", "spline-spare-rear")}
    fly |= {chain: SIGNS[chain] * ring for chain in ("starter-rest-gap", "starter-mesh-width")}
    hub_rear = um["hub_front"] + um["hub_length"]
    bell = {c: s for c, s in behind(um["bell_depth"]).items() if "starter" not in c}
    bell |= {"starter-rest-gap": um["pinion_out"], "starter-mesh-width": -um["pinion_out"]}
    return [
        HeldPart("crank", "c", "crank", shifts_um=crank),
        HeldPart("flywheel", "f", "flywheel", shifts_um=fly),
        HeldPart("cover", "k", "cover", shifts_um={"release-gap": -um["fingers"]}),
        HeldPart("disc", "d", "disc",
                 shifts_um={"spline-spare-front": um["hub_front"], "spline-spare-rear": -hub_rear}),
        HeldPart("pilot", "p", "pilot", shifts_um={"pilot-overlap": pilot, "shoulder-to-bearing": -pilot}),
        HeldPart("plate", "t", "plate", shifts_um=behind(um["plate"])),
        HeldPart("bell", "b", "bell", shifts_um=bell),
        HeldPart("case", "g", "case", shifts_um=dict.fromkeys(("pilot-overlap", "spline-spare-rear"), 0)),
        HeldPart("shaft", "s", "shaft", shifts_um={
            "pilot-overlap": um["stick_out"], "tip-to-bore-bottom": -um["stick_out"],
            "shoulder-to-bearing": um["nose_length"] - um["stick_out"], "spline-spare-front": start,
            "spline-spare-rear": -end,
        }),
        HeldPart("release", "r", "release", shifts_um={"release-gap": -um["bearing_height"]}),
        HeldPart("starter", "a", "starter",
                 shifts_um={"starter-rest-gap": um["pinion_travel"], "starter-mesh-width": 0}),
    ]  # fmt: skip


def measured_sheet(um: dict[str, int]) -> Any:
    def read(name: str, value: int) -> Dimension:
        nm = value * 1000
        return Dimension(name=name, nominal_nm=nm, low_nm=nm, high_nm=nm, datum=DATUMS.get(name, ""), basic=True,
                         source="stated")  # fmt: skip

    def at(name: str) -> Dimension:
        return read(name, um[name])

    assert DATUMS["crank_flange"] == BLOCK_FACE
    return chain_of(
        EngineSide(
            crank_flange=at("crank_flange"), bore_depth=at("bore_depth"), bearing_inset=at("bearing_inset"),
            bearing_width=read("bearing_width", 16_000), friction_face=at("friction_face"), fingers=at("fingers"),
            hub_front=at("hub_front"), hub_length=at("hub_length"), ring_front=at("ring_front"),
            ring_width=at("ring_width"),
        ),
        BoxSide(
            spline_end=read("spline_end", um["spline_start"] + um["spline_length"]),
            pinion_at_rest=read("pinion_at_rest", um["pinion_out"] + um["pinion_travel"]),
            bell_depth=at("bell_depth"), stick_out=at("stick_out"), nose_length=at("nose_length"),
            spline_start=at("spline_start"), bearing_height=at("bearing_height"), pinion_out=at("pinion_out"),
        ),
    )  # fmt: skip


def test_a_length_that_a_part_states_in_two_ways_is_not_drawn_and_is_told() -> None:
    torn = HeldPart("bell", "b", "Odd housing", shifts_um={"pilot-overlap": -150_000, "release-gap": 149_000})

    faces = Faces([torn])

    assert faces.box_face is None
    assert list(faces.torn) == [
        "Odd housing: its depth is stated in 2 ways (149.000 mm, 150.000 mm); it is not drawn"
    ]  # fmt: skip


# The drawing by itself, of whatever it is given.

WORDS = st.text(st.characters(codec="utf-8"), max_size=24)
ENDS = st.none() | st.integers(-400_000, 900_000)
PIECES = st.builds(
    CutPiece, name=st.sampled_from(("crankshaft", "flywheel", "bell housing", "gearbox case", "nose", "something")),
    label=WORDS, words=WORDS, brief=WORDS, part=WORDS, datum=st.sampled_from(("block face", BOX_FACE)), from_um=ENDS,
    to_um=ENDS, goes_on=st.sampled_from(((), ("front",), ("rear",))), fitted=st.booleans(),
)  # fmt: skip


def gap_of(chain: str, state: str, first: int, last: int, words: str) -> CutGap:
    return CutGap(chain=chain, label=chain, state=state, words=(words, words), value_um=last - first, from_um=first,
                  to_um=last)  # fmt: skip


GAPS = st.builds(
    gap_of, st.sampled_from((*SIGNS, "another")), st.sampled_from(STATES), st.integers(-300_000, 600_000),
    st.integers(-300_000, 600_000), WORDS,
)  # fmt: skip
CUTS = st.builds(
    AssemblyCut, when=st.just(AFTER), title=WORDS, pieces=st.lists(PIECES, max_size=6).map(tuple),
    gaps=st.lists(GAPS, max_size=6).map(tuple),
)  # fmt: skip


@given(CUTS)
@example(AssemblyCut(when=AFTER, title="<b>&\0</b>", gaps=(gap_of("release-gap", "thin", 5, 5, "<script>"),)))
@settings(max_examples=EXAMPLES, deadline=None)
def test_any_assembly_is_drawn_to_scale_with_labels_that_never_lie_over_each_other(cut: AssemblyCut) -> None:
    sheet = read_sheet(section_svg((cut,), "title"))

    gaps = sheet.all(AFTER, "gap")
    assert len(gaps) == len(cut.gaps)
    for shape, gap in zip(gaps, cut.gaps, strict=True):
        assert shape.long_mm == pytest.approx(abs(gap.value_um or 0) / 1000, abs=sheet.pixel_mm / 20)
    column = plan_sheet((cut,)).columns[0]
    spans = sorted((label.y, label.y + len(label.lines) * LINE) for label in column.labels)
    assert all(one[1] <= other[0] for one, other in pairwise(spans))
    assert all(one >= 0 and two <= column.height for one, two in spans)


def test_before_and_after_share_the_scale_and_the_line_of_the_blocks_face() -> None:
    section = asked("tansy-5", "pipit-16", "").routes[0].section
    assert section is not None

    apart = [read_sheet(svg) for svg in section_svgs(section.cuts(), "cut", "in words below")]
    together = read_sheet(section_svg(section.cuts(), "both"))

    assert apart[0].pixel_mm == apart[1].pixel_mm == together.pixel_mm
    assert [list(one.columns) for one in apart] == [[BEFORE], [AFTER]] and list(together.columns) == [BEFORE, AFTER]


def test_what_is_not_stated_is_named_and_hatched() -> None:
    markup = section_drawing(asked("tansy-5", "pipit-16", "").routes[0], "after")

    sheet = read_sheet(markup)
    assert "gearbox case: length not" in " ".join(sheet.texts)
    case = sheet.one("after", "piece", "gearbox case")
    assert (case.data["hatched"], case.data["to-mm"]) == ("yes", "")
    hatched = {shape.data["piece"] for shape in sheet.all("after", "hatched")}
    pieces = sheet.all("after", "piece")
    known = {shape.data["piece"] for shape in pieces if shape.data["from-mm"] and shape.data["to-mm"]}
    assert hatched and not hatched & known


def test_a_housing_without_a_depth_leaves_the_gearbox_at_a_place_of_its_own() -> None:
    bell = CutPiece(name="bell housing", label="b", words="depth not stated", brief="bell housing: depth not stated")
    nose = CutPiece(name="nose", label="s", words="22", brief="nose", datum=BOX_FACE, from_um=-190_000, to_um=-168_000)
    block = CutPiece(name="engine block", label="e", words="", brief="", to_um=0, goes_on=("front",))

    sheet = read_sheet(section_svg((AssemblyCut(when=AFTER, title="t", pieces=(block, bell, nose)),), "t"))

    drawn = sheet.one(AFTER, "piece", "nose")
    assert drawn.long_mm == pytest.approx(22, abs=sheet.pixel_mm / 20)
    assert drawn.top_mm > 0 and sheet.one(AFTER, "piece", "bell housing").data["to-mm"] == ""


def test_labels_stay_in_their_column() -> None:
    """A label has 224 units; 31 letters of 13 units high take some 220 in the widest usual face."""
    for pair in PAIRS:
        labels = read_sheet(section_drawing(asked(*pair).routes[0])).labels
        assert all(len(text) <= 31 for column in labels.values() for x, _, text in column if x >= LABEL_X)

"""Measurements as facts: read exactly, kept as written, refused by file and line, disputed and never averaged."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from graph.catalogue.load import load_catalogue
from graph.derive.around import deriver_of
from graph.errors import InvalidFacts
from graph.fits.model import NM_PER_MM
from tests.derive.shop import index, measured

HEAD = """@prefix lay: <https://layshaft.example/vocabulary#> .
@prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:shaft a lay:Part ; rdfs:label "A shaft" ; lay:kind kind:input-shaft .
"""
GOOD = 'lay:reading "1-3/4 in" ; lay:uncertainty "0.5 thou"'


def write(tmp_path: Path, quantity: str, said: str) -> Path:
    file = tmp_path / "measured.ttl"
    known = "lay:evidence kind:measured-on-these-parts"
    file.write_text(
        f"{HEAD}shop:m a lay:Measurement ; lay:quantity kind:{quantity} ;\n"
        f"    lay:measuredOn shop:shaft ; {known} ;\n    {said} .\n",
        encoding="utf-8",
    )
    return file


def test_a_reading_is_kept_as_it_was_written_and_converted_exactly(tmp_path: Path) -> None:
    """1 in = 25.4 mm exactly (international yard and pound agreement, 1959)."""
    facts = load_catalogue([write(tmp_path, "journal-diameter", GOOD)])

    from graph.reading import CatalogueIndex

    length = deriver_of(CatalogueIndex(facts)).measured.length("shaft", "journal-diameter")

    assert facts.measurements["m"].reading == "1-3/4 in"
    assert length is not None
    assert Fraction(length.nominal_nm, NM_PER_MM) == Fraction(7, 4) * Fraction("25.4")
    assert (length.as_read, length.uncertainty_nm) == ("1-3/4 in", 12_700)


@pytest.mark.parametrize(
    ("quantity", "said", "problem"),
    [
        ("journal-diameter", 'lay:reading "45.01" ; lay:uncertainty "0.01 mm"', "has no unit"),
        ("journal-diameter", 'lay:reading "45.01 mm" ; lay:uncertainty "0 mm"', "no reading is exact"),
        ("journal-diameter", 'lay:reading "45.01 mm"', "state it (such as 0.05 mm), or name the tool"),
        ("journal-diameter", 'lay:reading "-45.01 mm" ; lay:uncertainty "0.01 mm"', "a size is above zero"),
        ("journal-diameter", 'lay:reading "45 deg" ; lay:uncertainty "0.01 mm"', "is a angle, wanted a length"),
        ("shoulder-to-ring", 'lay:reading "23 mm" ; lay:uncertainty "0.01 mm"', "no datum"),
        ("spline-form", 'lay:reading "square"', "expected one of involute, straight; found 'square'"),
        (
            "housing-bore",
            'lay:reading "90 mm" ; lay:uncertainty "0.01 mm"',
            "measured on gearbox-case, not on input-shaft",
        ),
    ],
)
def test_a_reading_that_makes_no_sense_is_refused_with_its_place(
    tmp_path: Path, quantity: str, said: str, problem: str
) -> None:
    file = write(tmp_path, quantity, said)

    with pytest.raises(InvalidFacts) as refusal:
        load_catalogue([file])

    (text,) = (str(one) for one in refusal.value.problems)
    assert problem in text
    assert "measured.ttl line" in text
    assert "shop:m" in text


def test_the_tool_alone_says_how_surely_where_its_uncertainty_is_usual(tmp_path: Path) -> None:
    file = write(tmp_path, "journal-diameter", 'lay:reading "45.01 mm" ; lay:tool "micrometer"')

    assert load_catalogue([file]).measurements["m"].tool == "micrometer"


def test_a_hole_with_an_impossible_place_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "face.ttl"
    file.write_text(
        HEAD.replace("kind:input-shaft", "kind:bell-housing")
        + """shop:f a lay:BoltFace ; lay:measuredOn shop:shaft ; lay:joint kind:engine-face ; lay:datum "axis" ;
    lay:seenFrom "rear" ; lay:uncertainty "0.1 mm" ; lay:evidence kind:measured-on-these-parts ;
    lay:hole [ a lay:Hole ; lay:holeName "a" ; lay:x "12" ; lay:y "0 mm" ; lay:diameter "9 mm" ; lay:use "other" ] .
""",
        encoding="utf-8",
    )

    with pytest.raises(InvalidFacts, match="'12' has no unit"):
        load_catalogue([file])


def test_two_readings_beyond_their_joint_uncertainty_are_a_dispute_and_nothing_is_known() -> None:
    """0.020 apart, the root of 0.005^2 + 0.005^2 is 0.0071 (JCGM 100)."""
    again = measured("nose-diameter", "shaft-sedge", "17.010 mm", uncertainty="0.005 mm")

    known = deriver_of(index(more=[again])).measured

    assert known.length("shaft-sedge", "nose-diameter") is None
    (dispute,) = known.disputes("shaft-sedge")
    assert "16.990 mm" in dispute.text()
    assert "17.010 mm" in dispute.text()
    assert "measure again" in known.gap("shaft-sedge", "nose-diameter").why


def test_two_readings_that_agree_settle_to_the_surer_one() -> None:
    again = measured("nose-diameter", "shaft-sedge", "16.992 mm", uncertainty="0.005 mm")

    length = deriver_of(index(more=[again])).measured.length("shaft-sedge", "nose-diameter")

    assert length is not None
    assert length.as_read == "16.992 mm"  # on these parts, before the same variant


def test_a_variant_takes_its_familys_reading_where_it_has_none() -> None:
    known = deriver_of(index()).measured

    assert known.length("shaft-tansy-23", "nose-diameter") is not None
    assert known.length("shaft-tansy-23", "nose-diameter") == known.length("shaft-tansy-23", "nose-diameter")
    assert known.facts("shaft-tansy-23", "nose-diameter")[0].of == "shaft-tansy"


def test_a_bearing_ordered_by_its_designation_has_the_published_dimensions() -> None:
    """ISO 15: 6309 is 45 x 100 x 25."""
    known = deriver_of(index()).measured

    sizes = [
        known.length("bearing-6309", name) for name in ("bearing-bore", "bearing-outside-diameter", "bearing-width")
    ]
    assert [size.nominal_nm // NM_PER_MM for size in sizes if size] == [45, 100, 25]

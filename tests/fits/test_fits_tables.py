"""The published tables load, are consistent in themselves, and refuse the wrong copies that go about.

Sources stand in each row of facts/standards; the wrong copies are listed in facts/standards/sources.md.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from graph.errors import InvalidFacts
from graph.fits.model import NM_PER_MM
from graph.fits.tables import STANDARDS, load_tables

TABLES = load_tables()
# ISO 15 / DIN 625-1 boundary dimensions as printed in two independent catalogues (d, D, B in mm).
BEARINGS = {
    "6000": (10, 26, 8), "6001": (12, 28, 8), "6002": (15, 32, 9), "6003": (17, 35, 10), "6004": (20, 42, 12),
    "6005": (25, 47, 12), "6006": (30, 55, 13), "6007": (35, 62, 14), "6008": (40, 68, 15), "6009": (45, 75, 16),
    "6010": (50, 80, 16), "6011": (55, 90, 18), "6012": (60, 95, 18), "6013": (65, 100, 18), "6200": (10, 30, 9),
    "6201": (12, 32, 10), "6202": (15, 35, 11), "6203": (17, 40, 12), "6204": (20, 47, 14), "6205": (25, 52, 15),
    "6206": (30, 62, 16), "6207": (35, 72, 17), "6208": (40, 80, 18), "6209": (45, 85, 19), "6210": (50, 90, 20),
    "6211": (55, 100, 21), "6212": (60, 110, 22), "6300": (10, 35, 11), "6303": (17, 47, 14), "6304": (20, 52, 15),
    "6305": (25, 62, 17), "6306": (30, 72, 19), "6307": (35, 80, 21), "6308": (40, 90, 23), "6309": (45, 100, 25),
    "6310": (50, 110, 27),
}  # fmt: skip


@pytest.mark.parametrize("designation", sorted(BEARINGS))
def test_a_standard_ball_bearing_has_its_iso_15_boundary_dimensions(designation: str) -> None:
    bearing = next(b for b in TABLES.bearings if b.designation == designation)

    found = tuple(nm / NM_PER_MM for nm in (bearing.bore_nm, bearing.od_nm, bearing.width_nm))

    assert found == BEARINGS[designation]


@pytest.mark.parametrize(
    ("standard", "size", "thickness", "groove"),
    [  # DIN 471/472 (1981) as carried by two fastener data packages
        ("DIN 471", 25, 1.2, 23.9), ("DIN 471", 34, 1.5, 32.3), ("DIN 471", 45, 1.75, 42.5),
        ("DIN 471", 48, 1.75, 45.5), ("DIN 471", 52, 2.0, 49.0), ("DIN 472", 62, 2.0, 65.0),
        ("DIN 472", 72, 2.5, 75.0), ("DIN 472", 82, 2.5, 85.5), ("DIN 472", 100, 3.0, 103.5),
        ("DIN 472", 120, 4.0, 124.0),
    ],
)  # fmt: skip
def test_a_retaining_ring_has_its_published_thickness_and_groove(
    standard: str, size: float, thickness: float, groove: float
) -> None:
    ring = next(r for r in TABLES.rings if r.standard == standard and r.size_nm == size * NM_PER_MM)

    assert (ring.thickness_nm / NM_PER_MM, ring.groove_nm / NM_PER_MM) == (thickness, groove)


@pytest.mark.parametrize(
    ("thread", "fine", "medium", "coarse"),
    [  # ISO 273:1979
        ("M5", 5.3, 5.5, 5.8), ("M6", 6.4, 6.6, 7), ("M8", 8.4, 9, 10), ("M10", 10.5, 11, 12),
        ("M12", 13, 13.5, 14.5), ("M14", 15, 15.5, 16.5), ("M16", 17, 17.5, 18.5),
    ],
)  # fmt: skip
def test_clearance_holes_are_those_of_iso_273(thread: str, fine: float, medium: float, coarse: float) -> None:
    hole = next(h for h in TABLES.holes if h.thread == thread)

    assert [nm / NM_PER_MM for nm in (hole.fine_nm, hole.medium_nm, hole.coarse_nm)] == [fine, medium, coarse]


def test_proof_loads_are_stress_area_times_proof_stress_as_iso_898_1_rounds_them() -> None:
    for bolt in TABLES.bolts:
        computed = bolt.stress_area_mm2 * bolt.proof_stress_mpa

        assert abs(computed - bolt.proof_load_n) <= bolt.proof_load_n * 0.006, bolt
        assert bolt.tensile_load_n > bolt.proof_load_n


@pytest.mark.parametrize(
    ("file", "right", "wrong", "message"),
    [  # wrong copies found in public collections
        ("din471_rings.csv", "\n48,1.75,", "\n48,2,", "thicker than its groove"),
        ("din472_rings.csv", "\n82,2.5,", "\n82,3,", "thicker than its groove"),
        ("din471_rings.csv", ",49.0,0.0,", ",49.5,0.0,", "twice the groove depth"),
        ("din471_rings.csv", ",32.3,0.0,", ",31.3,0.0,", "twice the groove depth"),
        ("din472_rings.csv", ",103.5,0.35,", ",103.0,0.35,", "twice the groove depth"),
        ("iso15_ball_bearings.csv", "\n6300,63,10,35.0,11.0,0.6,two-source,8.06,3.4",
         "\n6300,63,10,35.0,11.0,0.6,two-source,3.4,8.06", "swapped"),
        ("iso273_clearance_holes.csv", "M12,13,13.5,14.5", "M12,13,14.5,13.5", "fine < medium < coarse"),
        ("iso286_deviations.csv", "hole,H7,10,18,18.0,0.0", "hole,H7,10,18,0.0,18.0", "below"),
        ("iso286_deviations.csv", "hole,H7,10,18,18.0", "hole,H7,10,18,wide", "expected a number"),
        ("iso286_deviations.csv", "hole,H7,10,18,18.0", "hole,H7,10,18,", "empty cell"),
        ("iso898_1_proof_loads.csv", "M6,1,20.1,8.8", "Mx,1,20.1,8.8", "expected M and a number"),
    ],
)  # fmt: skip
def test_a_wrong_copy_is_refused_with_file_and_line(
    tmp_path: Path, file: str, right: str, wrong: str, message: str
) -> None:
    folder = tmp_path / "standards"
    shutil.copytree(STANDARDS, folder)
    text = (folder / file).read_text(encoding="utf-8")
    assert right in text
    (folder / file).write_text(text.replace(right, wrong, 1), encoding="utf-8")

    with pytest.raises(InvalidFacts, match=message) as caught:
        load_tables(folder)

    assert f"{file} line" in caught.value.problems[0].path


def test_a_missing_table_is_named(tmp_path: Path) -> None:
    with pytest.raises(InvalidFacts, match=r"iso286_deviations\.csv"):
        load_tables(tmp_path)


def test_every_row_of_every_table_has_source_edition_and_confidence() -> None:
    import csv

    for path in sorted(STANDARDS.glob("*.csv")):
        with path.open(newline="", encoding="utf-8") as stream:
            for line, row in enumerate(csv.DictReader(stream), start=2):
                for column in ("source", "confidence"):
                    assert row.get(column), f"{path.name} line {line} has no {column}"


def test_each_table_is_listed_in_the_sources_file() -> None:
    text = (STANDARDS / "sources.md").read_text(encoding="utf-8")

    for path in STANDARDS.glob("*.csv"):
        assert path.name in text

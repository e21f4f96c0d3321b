"""What the benches hand back: tables that read as Markdown, drawings that follow from them, honest sums."""

from __future__ import annotations

import re
from statistics import linear_regression
from xml.etree import ElementTree

import pytest

from scripts.benchmarks.command import list_benches, main
from scripts.benchmarks.drawing import drawing_of, seconds_of
from scripts.benchmarks.steady import STRETCHES, Sample, slope_of
from scripts.benchmarks.table import Table

SVG = "{http://www.w3.org/2000/svg}"
SIZES = (("1,000", "2.0 ms"), ("10,000", "20.0 ms"))
PACE = Table(
    "Pace",
    ("parts", "stage", "p50", "p95"),
    [(size, stage, p50, "40.0 ms") for stage in ("read", "search") for size, p50 in SIZES],
)


def test_a_table_is_markdown_with_numbers_to_the_right() -> None:
    table = Table("Load", ("request", "p50"), [("GET /parts", "3.4 ms")], ("Short.",))

    assert table.as_text().splitlines() == [
        "## Load", "", "| request    |    p50 |", "|------------|-------:|", "| GET /parts | 3.4 ms |", "", "Short.",
    ]  # fmt: skip


def test_sizes_in_the_first_column_are_drawn_as_curves_with_a_panel_for_each_stage() -> None:
    drawn = ElementTree.fromstring(PACE.as_svg("a machine"))

    assert len(drawn.findall(f".//{SVG}polyline")) == 2 * 2  # stages, percentiles
    words = [text.text for text in drawn.iter(f"{SVG}text")]
    assert {"read", "search", "p50", "p95", "parts", "a machine"} <= set(words)


def test_a_tenfold_time_is_one_step_higher_on_the_logarithmic_axis() -> None:
    table = Table("Pace", ("parts", "p50"), [("1", "1.0 ms"), ("2", "10.0 ms"), ("3", "100 ms")])

    drawn = ElementTree.fromstring(table.as_svg())

    (line,) = drawn.iter(f"{SVG}polyline")
    heights = [float(point.split(",")[1]) for point in line.attrib["points"].split()]
    assert heights[0] - heights[1] == pytest.approx(heights[1] - heights[2], abs=0.2)
    assert heights[0] > heights[2]


def test_names_in_the_first_column_are_drawn_as_bars() -> None:
    drawn = ElementTree.fromstring(
        Table("Load", ("request", "p50"), [("GET /parts", "3.4 ms"), ("GET /", "-")]).as_svg()
    )

    lengths = [bar for bar in drawn.iter(f"{SVG}rect") if bar.attrib.get("height") == "12" and bar.attrib["x"] != "16"]
    assert len(lengths) == 1  # nothing was measured for the other


def test_a_table_without_times_is_not_drawn() -> None:
    assert drawing_of("Memory", ("requests", "at the end"), [("reads", "245 MB")]) == ""
    assert seconds_of("203,000/s") is None


def test_the_slope_of_memory_is_that_of_least_squares() -> None:
    """Python's own statistics.linear_regression over the same means; steps of one stretch each have no spread."""
    samples: list[Sample] = [(place / 10, 200 + 3 * (place // 10)) for place in range(STRETCHES * 10)]

    slope, uncertainty = slope_of(samples)

    expected = linear_regression(range(STRETCHES), [200 + 3 * step for step in range(STRETCHES)]).slope
    assert (slope, uncertainty) == (pytest.approx(expected), pytest.approx(0))


def test_an_unknown_bench_ends_with_status_2_and_names_the_others(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--only", "solvers,no-such-bench"]) == 2

    said = capsys.readouterr().out
    assert "no-such-bench" in said
    assert all(re.search(rf"^{name}$", said, re.MULTILINE) for name in list_benches())

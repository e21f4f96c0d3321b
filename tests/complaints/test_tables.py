"""The tables of complaints: every fault in them is told with file, line and column, and nothing is half read."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from graph.complaints.tables import KINDS, load_trade, trade_tables
from graph.errors import InvalidFacts

SPOILT = [
    ("complaints.csv", "will-not-release,", "clutch-slips,", "there already"),
    ("complaint_causes.csv", ",0.15,", ",1.5,", "between 0 and 1"),
    ("complaint_causes.csv", "release-gap,below", "release-gap,", "below, above or either with a chain"),
    ("complaint_links.csv", "travel-short,will-not-release,0.9", "travel-short,will-not-release,nan", "found 'nan'"),
    ("complaint_links.csv", "travel-short,will-not-release,0.9", "travl,will-not-release,0.9", "no cause 'travl'"),
    ("complaint_links.csv", "travel-short,will-not-release,0.9", "travel-short,nowhere,0.9", "no complaint, test or"),
    ("complaint_links.csv", "travel-short,will-not-release", "travel-short,clutch-drags", "said twice"),
    ("complaint_links.csv", "oil-contaminated,input-bearing-worn", "oil-contaminated,housing-out-of-true",
     "which itself brings causes about"),
    ("complaint_tests.csv", "working estimate\n", "\n", "no source"),
    ("complaint_readings.csv", "outside,", "beyond,", "expected one of outside"),
]  # fmt: skip


def test_every_complaint_has_a_cause_and_every_cause_a_test_or_a_complaint() -> None:
    trade = trade_tables()

    assert all(trade.brought_by(one) for one in (*trade.complaints, *trade.tests))
    assert all(trade.brings.get(one) for one in trade.causes)


@pytest.mark.parametrize(("name", "good", "bad", "words"), SPOILT)
def test_a_spoilt_row_is_told_with_its_place(tmp_path: Path, name: str, good: str, bad: str, words: str) -> None:
    for file in KINDS.glob("complaint*.csv"):
        shutil.copy(file, tmp_path)
    text = (tmp_path / name).read_text(encoding="utf-8")
    assert good in text
    (tmp_path / name).write_text(text.replace(good, bad, 1), encoding="utf-8")

    with pytest.raises(InvalidFacts) as told:
        load_trade(tmp_path)
    assert any(words in str(problem) and name in str(problem) for problem in told.value.problems), told.value

"""One way to read a number at every door: what-ifs, a noted reading, the bench page, a demand in a question.

Lengths by definition: 1 in is 25.4 mm (ISO 80000-3, note on the inch).
"""

from __future__ import annotations

import pytest

from graph.catalogue.measurements import read_measurement
from graph.errors import InvalidInput
from graph.fits.decimals import decimal_of
from graph.fits.wanted import read_wanted
from graph.notes.readings import Typed, fact_of
from graph.what_if.inputs import LENGTH, Field, WhatIf, read_fields
from tests.demo.shop import catalogue

SAME = ["1.5", "1,5", "1½", "1 1⁄2", "1-1/2", "1 1/2", "3/2", "1-½"]
NONE = ["1-17/16", "1.234,5", "1/0", "NaN", "1e3", "one", ""]


def what_if(number: str) -> int:
    field = Field(LENGTH, "a length")
    read = read_fields(WhatIf("one", {"x": field}, dict), {"x": f"{number} in +/- 0.1 mm"})["x"]
    return int(read.nominal_nm)


def noted(number: str, unit: str = "mm") -> int:
    """As the bench page writes it down and the catalogue reads it: facts, notes and imports alike."""
    typed = Typed(reading=number, spread="0.05", tool="calliper", datum="")
    fact = fact_of("disc-20", catalogue().quantities["spline-major"], typed, unit, "m")
    return read_measurement(catalogue(), fact).reading.nm


@pytest.mark.parametrize("text", SAME)
def test_every_spelling_of_one_and_a_half_is_the_same_number_at_every_door(text: str) -> None:
    assert what_if(text) == 38_100_000
    assert noted(text, "in") == 38_100_000
    assert decimal_of(text, "hours") == "1.5"
    assert read_wanted(f"first gear at least {text}", "").bound * 2 == 3


@pytest.mark.parametrize("text", NONE)
def test_what_is_no_number_is_one_at_no_door(text: str) -> None:
    for door in (what_if, noted, lambda number: decimal_of(number or "-", "hours")):
        with pytest.raises(InvalidInput):
            door(text)
    with pytest.raises(InvalidInput):
        read_wanted(f"first gear at least {text}", "")


def test_a_mil_is_a_thousandth_of_an_inch_and_no_millimetre() -> None:
    assert noted("3 mil") == noted("0.003 in") == 76_200

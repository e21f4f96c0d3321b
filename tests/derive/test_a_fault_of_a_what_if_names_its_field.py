"""Whatever is typed into a check's fields, a fault names one of these fields, not a name inside the program."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from graph.errors import InvalidInput
from graph.fits.quantity import quantity_of
from graph.fits.wanted import read_wanted
from graph.what_if.inputs import ANGLE, COUNT, LENGTH, NUMBER, QUANTITY, READING, SIZE, Field
from graph.what_if.kinds import WHAT_IFS, check_what_if, read_what_if

USUAL = {
    LENGTH: "40 mm +/- 0.01 mm from the face", READING: "40 mm", SIZE: "40 mm", ANGLE: "4 deg", COUNT: "24",
    NUMBER: "1.5",
}  # fmt: skip
STRANGE = {
    LENGTH: ("0 mm +/- 0.01 mm from the face", "90 m +/- 1 mm from the back"), READING: ("0 mm", "-1 mm"),
    SIZE: ("0 mm", "99 m"), ANGLE: ("0 deg", "89.9 deg", "180 deg"), COUNT: ("1", "999"), NUMBER: ("0.001", "900"),
}  # fmt: skip


def written(field: Field, number: str = "40") -> str:
    if field.words:
        return field.words[0]
    return f"{number} {field.unit}" if field.form == QUANTITY or field.unit else USUAL.get(field.form, "6309")


def tries(kind: str) -> Iterator[dict[str, str]]:
    fields = WHAT_IFS[kind].fields
    usual = {name: written(field) for name, field in fields.items()}
    yield usual
    for name, field in fields.items():
        strange = ("0.001", "99") if field.unit else STRANGE.get(field.form, ())
        for one in strange:
            yield usual | {name: f"{one} {field.unit}" if field.unit else one}


@pytest.mark.parametrize("kind", WHAT_IFS)
def test_a_fault_names_a_field_of_the_check(kind: str) -> None:
    for inputs in tries(kind):
        try:
            check_what_if(kind, inputs)
        except InvalidInput as error:
            strangers = [one for one in error.problems if one.path not in WHAT_IFS[kind].fields]
            assert not strangers, (strangers, inputs)
        except LookupError as error:  # a designation that no table has
            pytest.fail(f"{error!r} {inputs}")
        except Exception as error:
            if type(error).__name__ != "NotFound":
                raise


def test_a_tyre_and_a_lining_are_named_as_their_fields_are() -> None:
    speed = {"speed_rpm": "3000 rpm", "gear": "1", "final": "4", "tyre": "0 mm"}
    clutch = {"clamp_n": "5000 N", "outer": "150 mm", "inner": "230 mm"}

    assert paths("road-speed", speed) == ["tyre"]
    assert paths("clutch-torque", clutch) == ["inner"]


def paths(kind: str, inputs: dict[str, str]) -> list[str]:
    with pytest.raises(InvalidInput) as refused:
        check_what_if(kind, inputs)
    return [one.path for one in refused.value.problems]


def test_a_number_without_its_unit_says_which_unit_was_taken() -> None:
    read = read_what_if("gearbox-torque", {"rating_nm": "300", "engine_nm": "180 Nm"})

    assert read == {"rating_nm": "300 Nm (no unit written: Nm taken)", "engine_nm": "180 Nm"}


@pytest.mark.parametrize(
    ("text", "dimension"),
    [("3,000 rpm", "speed of rotation"), ("3.000 rpm", "speed of rotation"), ("1,200 kg", "mass"),
     ("1,500 Nm", "torque")],
)  # fmt: skip
def test_a_mark_that_may_stand_for_thousands_is_asked_back(text: str, dimension: str) -> None:
    with pytest.raises(InvalidInput, match="may be a thousands mark"):
        quantity_of(text, dimension)


def test_a_demand_of_three_thousand_is_never_read_as_three() -> None:
    with pytest.raises(InvalidInput, match="write 3000") as refused:
        read_wanted("120 km/h in fifth gear below 3,000 rpm", "demands[0]")

    assert refused.value.problems[0].path == "demands[0]"
    assert read_wanted("first gear at least 3,583", "demands[0]").text == "first gear at least 3.583"
    assert read_wanted("120 km/h in fifth gear below 2,5 rpm", "x").text.endswith("2.5 1/min")


def test_lengths_keep_three_decimals_for_a_micrometer_gives_them() -> None:
    assert quantity_of("25,013 mm").nm == quantity_of("25.013 mm").nm == 25_013_000

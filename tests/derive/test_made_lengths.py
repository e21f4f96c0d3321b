"""Which lengths of a made part serve which windows: against a brute force over every micrometre that could matter."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as some

from graph.catalogue.terms import ChainKind
from graph.derive.made_places import list_lengths
from graph.derive.room import Room, RoomSpan
from graph.plates.model import ThicknessWindow

SPARE = 50
WINDOWS = some.lists(
    some.builds(
        lambda low, room: ThicknessWindow(low, low + room, "low", "high"),
        some.integers(-5_000, 30_000), some.integers(-500, 9_000),
    ),
    max_size=7,
)  # fmt: skip


def serves(um: int, window: ThicknessWindow) -> bool:
    assert window.low_um is not None and window.high_um is not None
    return window.low_um + SPARE <= um <= window.high_um - SPARE


@given(WINDOWS)
def test_every_window_that_leaves_the_tolerance_is_served_by_as_few_lengths_as_can_be(
    windows: list[ThicknessWindow],
) -> None:
    found = list_lengths(windows, SPARE)

    usable = [one for one in windows if (one.high_um or 0) - (one.low_um or 0) >= 2 * SPARE]
    assert all(serves(um, window) for window, um in found)
    assert all(any(serves(um, one) for _, um in found) for one in usable)
    ends = sorted({(one.high_um or 0) - SPARE for one in usable})  # a fewest set can always be moved to such ends
    for size in range(len(found)):
        assert not any(
            all(any(serves(um, one) for um in tried) for one in usable) for tried in combinations(ends, size)
        )


def test_windows_open_at_one_end_take_the_first_half_millimetre_within() -> None:
    (low, um) = list_lengths([ThicknessWindow(15_100, None, "overlap", "")], SPARE)[0]
    assert (low.low_by, um) == ("overlap", 15_500)
    assert list_lengths([ThicknessWindow(None, 23_020, "", "shoulder")], SPARE)[0][1] == 22_500
    assert list_lengths([ThicknessWindow()], SPARE) == []


def test_each_combination_of_parts_has_its_own_window() -> None:
    """Overlap 33 - T + r at least 12 and shoulder T - 11 - r at least 2, behind a plate of 15 or of 20 mm."""
    lows = {"overlap": 12_000, "shoulder": 2_000}
    kinds = {name: ChainKind(name, name, low_um=low) for name, low in lows.items()}
    plates = [{"overlap": -15_000, "shoulder": 15_000}, {"overlap": -20_000, "shoulder": 20_000}]
    terms = [[{"overlap": 33_000, "shoulder": -11_000}], plates]
    room = Room({name: RoomSpan() for name in kinds}, kinds, {}, terms)

    found = room.windows({"overlap": 1, "shoulder": -1})

    assert {(one.low_um, one.high_um) for one in found} == {(-6_000, 2_000), (-1_000, 7_000)}
    assert [um for _, um in list_lengths(found, SPARE)] == [500]  # one bush serves both: from -1 to 2
    served = room.window_with({"overlap": 1, "shoulder": -1}, 6_000)
    assert served == ThicknessWindow(-1_000, 7_000, "overlap", "shoulder")

"""axe-core finds no violation on the pages of parts, notes, bench and identify, light and dark."""

from __future__ import annotations

from tests.browser.conftest import SMALL_AND_DARK, Open
from tests.browser.test_axe import axe, violations
from tests.rotating import todays

__all__ = ["axe"]  # the engine's fixture

PATHS = (
    "/browse", "/browse?text=tansi+bell", "/browse?text=qqqqqqq", "/part/bell-tansy-spare", "/part/hollin-5",
    "/part/bell-tansy?group=fits", "/notebook", "/notebook/new", "/notebook/disputes", "/notebook/files", "/bench",
    "/bench/check/register?example=1", "/bench/check/length-chains?example=1", "/bench/check/pilot?nose=1",
    "/bench/joint?a=disc-unlabelled&b=shaft-hollin-short&r1.spline-major=1.14+in", "/bench/joint?a=tansy",
    "/bench/faces?joint=housing-to-case&a=case-tansy&b=bell-tansy-spare", "/identify?o.stick-out=7.480+in",
    "/workbook/page", "/unit/hollin-5", "/new-part", "/plates?a=block-pipit&b=bell-tansy-spare&force=3000+N",
    "/plates/which?part=bell-tansy-spare", "/bench/face", "/bench/face/by-hand",
)  # fmt: skip


@SMALL_AND_DARK
def test_no_page_of_the_bench_has_a_violation(visit: Open, axe: str, scheme: str, size: tuple[int, int]) -> None:
    browser = visit(size, scheme=scheme)
    found = []
    for path in todays(PATHS, 2):
        found += violations(browser.go(path), axe, path)

    assert found == []

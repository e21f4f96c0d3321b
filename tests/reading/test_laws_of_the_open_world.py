"""Forgetting never cheapens what is proven, and where all is stated nothing changes: on benches made at random.

LAYSHAFT_FORGET: how many examples each law is tried on.
"""

from __future__ import annotations

import os

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.reading.open_world import OpenBench, assumed, best, positive, proven
from tests.reading.test_laws import benches

EXAMPLES = int(os.environ.get("LAYSHAFT_FORGET", "15"))
ROAD_TEST = 48  # 0.8 h at 60


@st.composite
def open_benches(draw: st.DrawFn) -> OpenBench:
    plain, opened = draw(benches()), OpenBench()
    opened.parts, opened.edges = plain.parts, plain.edges
    return opened


@settings(max_examples=EXAMPLES, deadline=None)
@given(open_benches(), st.data())
def test_forgetting_that_something_is_there_or_fits_never_cheapens_what_assumes_nothing(
    bench: OpenBench, data: st.DataObject
) -> None:
    before = proven(bench.read())

    bench.forget(data.draw(st.sampled_from(list(positive(bench)))))
    after = proven(bench.read())

    assert after is None or (before is not None and after >= before)


@settings(max_examples=EXAMPLES, deadline=None)
@given(open_benches())
def test_with_all_places_stated_the_best_that_assumes_nothing_is_what_was_read_before(bench: OpenBench) -> None:
    before, now = best(bench.as_before()), best(bench.read(), most_assumed=0)

    assert now.status == before.status
    assert [route.expected - ROAD_TEST for route in now.routes] == [route.expected for route in before.routes]


@settings(max_examples=EXAMPLES, deadline=None)
@given(open_benches(), st.data())
def test_what_is_assumed_is_never_dearer_than_what_is_not_where_every_doubt_holds(
    bench: OpenBench, data: st.DataObject
) -> None:
    for name in data.draw(st.sets(st.sampled_from(list(positive(bench))), max_size=4)):
        bench.forget(name)
    reading = bench.read()
    known = proven(reading)

    assert known is None or best(reading, faults=()).routes[0].total <= known
    assert not assumed(reading) or reading.doubts.keys() == {f.id for f in reading.conversion.faults if f.on}

"""A long list with a few things changed is the list that one would copy and sort; near ids are found beside a place."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from graph.catalogue.layered import Layered
from graph.catalogue.near import MOST_COMPARED, around, near_matches
from graph.lookups.sequences import FEW, find, patched

MANY = [f"part-{number:05d}" for number in range(FEW + 50)]
NAMES = st.one_of(st.sampled_from(MANY), st.text("abcpz-05", min_size=1, max_size=6))


@given(
    gone=st.lists(NAMES, max_size=30), added=st.sets(NAMES, max_size=30), at=st.slices(len(MANY) - 20),
)  # fmt: skip
def test_a_patched_list_is_the_copied_one(gone: list[str], added: set[str], at: slice) -> None:
    out = {*gone, *added}  # what is changed is gone from below and added above

    found = patched(MANY, out, added, str)

    copied = sorted({*(one for one in MANY if one not in out), *added})
    assert list(found) == copied
    assert [found[place] for place in range(len(found))] == copied
    assert list(found[at]) == copied[at]
    assert [found[-1 - place] for place in range(3)] == copied[:-4:-1]
    assert [find(found, one) for one in copied[:40]] == list(range(len(copied))[:40])


def test_around_gives_what_stands_beside() -> None:
    assert list(around(MANY, "part-00100x", 2)) == ["part-00099", "part-00100", "part-00101", "part-00102"]
    assert list(around(MANY, "", 2)) == MANY[:2]
    assert list(around(MANY, "z", 1)) == MANY[-1:]


def test_of_very_many_ids_those_that_begin_alike_are_near() -> None:
    ids = [f"box-{number:06d}" for number in range(MOST_COMPARED + 10)]
    table = Layered(dict.fromkeys(ids, 0), {"box-own": 1})

    assert near_matches("box-012345x", ids)[0] == "box-012345"
    assert near_matches("box-owm", table)[0] == "box-own"

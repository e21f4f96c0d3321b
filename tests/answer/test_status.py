"""What an answer is worth, on documents small enough to reckon by hand. Sums are ours, worked in the comments."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from graph.answer import status
from graph.conversion.document import Candidate, Conversion, Fault, Inspection, Joint, Link, Position, Task
from graph.conversion.known import without
from graph.search import SearchOrder, Solution, search_here
from graph.search.order import Search
from graph.search.result import STOPPED_EARLY, Completeness

ORDER = SearchOrder()
TENTH = Fraction(1, 10)

OUT = Task("out", "gearbox out and in", hours_hundredths=450)
DISC = Position(
    "disc", "disc", "clutch disc",
    (
        Candidate(id="own", label="disc as found", part="own", as_found=True),
        Candidate(id="new", label="other disc", part="new", cash_hundredths=13500, tasks=("out",)),
    ),
)  # fmt: skip
SHAFT = Position("shaft", "shaft", "shaft", (Candidate(id="s", label="shaft", part="s", as_found=True),))
STATED = Link(id="new-fits", label="other disc on shaft", parts=("new", "s"), tasks=("out",))
NOT_KNOWN = Link(id="own-not-known", label="disc as found on shaft", parts=("own", "s"), tasks=("out",), assumed=True)
# Putting it right costs another disc; nothing comes back, because laying it open tells.
DOUBT = Fault("d", "the hub may not fit the shaft", "", TENTH, 40000, 0, ("out",), True, on=("own-not-known",))
GAUGE = Inspection("gauge", "measure the hub", 500, 10, ("d",))


def document(*links: Link, odds: Fraction = TENTH) -> Conversion:
    """Rate 60; box out and in 270. Other disc, stated to fit: 405. Disc as found, not known: 270 + odds x 400."""
    return Conversion(
        "g", "e", 6000, tasks=(OUT,), positions=(DISC, SHAFT),
        joints=(Joint("spline", "spline", "clutch spline", ("disc", "shaft"), links),),
        faults=(replace(DOUBT, odds=odds),), inspections=(GAUGE,),
    )  # fmt: skip


def asked(conversion: Conversion, order: SearchOrder = ORDER) -> status.WeighedDocument:
    return status.weigh(conversion, order, search_here)


def test_where_nothing_is_assumed_there_is_one_search_and_the_answer_is_proven() -> None:
    calls: list[Conversion] = []

    def counted(conversion: Conversion, order: SearchOrder) -> Solution:
        calls.append(conversion)
        return search_here(conversion, order)

    known = replace(document(STATED), faults=(), inspections=())

    found = status.weigh(known, ORDER, counted)

    assert (found.status, calls) == (status.PROVEN, [known])


def test_a_known_route_that_no_hope_can_beat_is_proven_though_things_are_not_known() -> None:
    """The disc as found would cost 200 to clean whatever is found: 470 at the least, against 405."""
    dear = replace(NOT_KNOWN, cash_hundredths=20000)

    found = asked(document(STATED, dear))

    assert found.status == status.PROVEN
    assert found.shown.routes[0].expected == 405
    assert found.beside is None


def test_a_known_route_that_hope_could_beat_stands_first_with_the_hopeful_one_beside_it() -> None:
    """405 known; 270 + 0.1 x 400 = 310 if one takes the chance, yet that does not stand first."""
    found = asked(document(STATED, NOT_KNOWN))

    assert found.status == status.ON_WHAT_IS_KNOWN
    assert found.shown.routes[0].links == {"spline": "new-fits"}
    assert found.beside is not None
    assert (found.beside.links, found.beside.expected) == ({"spline": "own-not-known"}, 310)


def test_the_route_beside_is_the_best_that_assumes_something_even_where_it_is_expected_to_cost_more() -> None:
    """At odds of 0.9 the chance costs 630, and looking first (11) may save 135 with odds 0.1."""
    found = asked(document(STATED, NOT_KNOWN, odds=Fraction(9, 10)))

    assert found.status == status.ON_WHAT_IS_KNOWN
    assert found.beside is not None
    assert found.beside.expected == 630
    assert found.looking is not None
    assert found.looking.look_first is not None
    assert found.looking.look_first.expected == Fraction(11) + Fraction(9, 10) * 405 + TENTH * 270


@pytest.mark.parametrize("objective", ["total", "cash", "hours"])
def test_sums_that_see_no_doubts_never_put_a_hope_before_what_is_known(objective: str) -> None:
    found = asked(document(STATED, NOT_KNOWN), replace(ORDER, objective=objective))

    assert found.shown.routes[0].links == {"spline": "new-fits"}
    assert (found.beside is None) == (objective == "hours")  # hours: 4.5 either way, so nothing could be gained


def test_without_a_known_route_it_holds_if_it_holds() -> None:
    found = asked(document(NOT_KNOWN))

    assert found.status == status.IF_IT_HOLDS
    assert found.shown.routes[0].expected == 310


def test_a_stated_choice_with_a_doubt_or_an_open_length_is_not_called_proven() -> None:
    doubted = replace(NOT_KNOWN, assumed=False)
    open_length = replace(document(replace(STATED, unmeasured=("gap",))), faults=(), inspections=())

    assert asked(document(doubted)).status == status.IF_IT_HOLDS
    assert asked(open_length).status == status.IF_IT_HOLDS


def test_work_that_is_known_to_be_due_is_no_assumption() -> None:
    due = document(replace(NOT_KNOWN, assumed=False), odds=Fraction(1))

    found = asked(due)

    assert (found.status, found.shown.routes[0].total) == (status.PROVEN, 670)


def test_a_joint_that_nothing_closes_is_no_route() -> None:
    found = asked(document())

    assert found.status == "no route"
    assert [one.what for one in found.shown.open] == ["spline"]


def test_nothing_assumed_at_most_leaves_what_is_known() -> None:
    found = asked(replace(document(STATED, NOT_KNOWN), most_assumed=0))

    assert (found.status, found.shown.routes[0].expected) == (status.PROVEN, 405)


def test_what_a_dropped_choice_was_needed_for_goes_with_it() -> None:
    left = without(document(STATED, NOT_KNOWN), frozenset({"new"}))

    assert [link.id for link in left.joints[0].links] == ["own-not-known"]
    assert [fault.id for fault in left.faults] == ["d"]
    assert without(left, frozenset({"own-not-known"})).faults == ()
    assert without(left, frozenset({"own-not-known"})).inspections == ()


def stopping(at: int) -> Search:
    """A search that finds nothing from its n-th call on."""
    calls = iter(range(100))

    def search(conversion: Conversion, order: SearchOrder) -> Solution:
        if next(calls) >= at:
            words = "no route was found before the time or memory ran out; there may be one"
            return Solution(STOPPED_EARLY, order.objective, (), parts=(Completeness("route", False, None, words),))
        return search_here(conversion, order)

    return search


def test_what_is_known_is_not_called_proven_where_the_time_was_too_short_to_look_at_the_rest() -> None:
    found = status.weigh(document(STATED, NOT_KNOWN), ORDER, stopping(1))

    assert found.status == STOPPED_EARLY
    assert found.shown.routes[0].expected == 405
    assert [part.words for part in found.unfinished] == [status.UNDECIDED]


def test_where_what_is_known_was_not_found_out_a_hopeful_route_is_shown_and_nothing_is_claimed() -> None:
    hard = status.weigh(document(STATED, NOT_KNOWN), ORDER, stopping(0))

    assert (hard.status, hard.shown.routes) == (STOPPED_EARLY, ())


def test_no_seconds_left_is_no_answer_rather_than_a_wait_without_end() -> None:
    found = asked(document(STATED, NOT_KNOWN), replace(ORDER, seconds=0))

    assert found.status == STOPPED_EARLY

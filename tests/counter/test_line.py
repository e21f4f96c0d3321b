"""The line of questions: so many at once, one client after the other, no more than so many waiting."""

from __future__ import annotations

from concurrent.futures import Future

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graph.counter.line import TooBusy, WaitingLine


def test_clients_take_turns_however_many_questions_each_has_sent() -> None:
    line = WaitingLine(1, 10)
    first = line.enter("a")
    waiting = [("a", line.enter("a")), ("a", line.enter("a")), ("b", line.enter("b")), ("c", line.enter("c"))]
    assert first.done()

    served = []
    for _ in range(4):
        line.leave()
        served += [name for name, turn in waiting if turn.done() and (name, turn) not in served]
        waiting = [(name, turn) for name, turn in waiting if not turn.done()]

    assert served == ["a", "b", "c", "a"]


def test_beyond_the_bound_one_is_asked_to_come_back() -> None:
    line = WaitingLine(1, 2)
    for _ in range(3):
        line.enter("a")

    with pytest.raises(TooBusy, match="come back in 2 s"):
        line.enter("b")


def test_one_who_stepped_aside_comes_back_before_those_who_have_not_begun() -> None:
    line = WaitingLine(1, 10)
    line.enter("hard")
    other, third = line.enter("other"), line.enter("third")
    line.leave()  # hard steps aside
    back = line.come_back()
    assert other.done() and not back.done()

    line.leave()

    assert back.done() and not third.done()


def test_one_who_has_gone_is_passed_over() -> None:
    line = WaitingLine(1, 10)
    line.enter("a")
    gone, next_ = line.enter("b"), line.enter("c")
    gone.cancel()

    line.leave()

    assert next_.done()


@given(st.lists(st.sampled_from(["a", "b", "leave", "aside"]), max_size=60), st.integers(1, 4))
def test_never_more_at_once_than_allowed_and_nobody_is_forgotten(acts: list[str], at_once: int) -> None:
    line, ended = WaitingLine(at_once, 1000), 0
    turns: list[Future[None]] = []
    for act in acts:
        having = sum(turn.done() for turn in turns) - ended
        if act in ("leave", "aside"):
            if having:
                line.leave()
                ended += 1
                turns += [line.come_back()] if act == "aside" else []
        else:
            turns.append(line.enter(act))
        assert sum(turn.done() for turn in turns) - ended <= at_once

    for _ in range(len(turns) - ended):
        line.leave()
    assert all(turn.done() for turn in turns)

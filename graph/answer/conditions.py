"""The state of each condition of a choice: it holds, or it is still to be confirmed.

Choices with a condition that fails never reach the search, so these are the only two states left. For a document
without a reading behind it, a condition that also stands among `to_confirm` is the open one.
"""

from __future__ import annotations

from graph.answer.ground import Ground
from graph.answer.model.lines import ConditionState
from graph.conversion.document import CandidateOrLink
from graph.reading.conditions import HOLDS, TO_CONFIRM


def states_of(ground: Ground, choice: CandidateOrLink) -> tuple[ConditionState, ...]:
    """Each condition with its state, in the document's order."""
    if ground.reading is not None:
        return tuple(ConditionState(one.text, one.state) for one in ground.reading.settled.get(choice.id, ()))
    unsettled = frozenset(choice.to_confirm)
    return tuple(ConditionState(text, TO_CONFIRM if text in unsettled else HOLDS) for text in choice.conditions)


def is_settled(ground: Ground, choice: CandidateOrLink) -> bool:
    """Whether every condition of the choice holds for certain."""
    if ground.reading is not None:
        return all(one.state == HOLDS for one in ground.reading.settled.get(choice.id, ()))
    return frozenset(choice.conditions).isdisjoint(choice.to_confirm)

"""The state of each condition of a choice: it holds, or it is still to be confirmed.

Choices with a condition that fails never reach the search, so these are the only two states left. A condition
that could not be settled in the question's context stands among the choice's `to_confirm` as well.
"""

from __future__ import annotations

from graph.answer.model import HOLDS, TO_CONFIRM, ConditionState
from graph.conversion.document import Choice


def states_of(choice: Choice) -> tuple[ConditionState, ...]:
    """Each condition with its state, in the document's order."""
    unsettled = frozenset(choice.to_confirm)
    return tuple(ConditionState(text, TO_CONFIRM if text in unsettled else HOLDS) for text in choice.conditions)


def is_settled(choice: Choice) -> bool:
    """Whether every condition of the choice holds for certain."""
    return not frozenset(choice.conditions) & frozenset(choice.to_confirm)

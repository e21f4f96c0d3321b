"""Conditions settled on three values against a question's context: holds, fails, to confirm. No I/O.

A key that the context does not hold makes the condition unknown, never true and never false.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from graph.catalogue.model import Condition
from graph.exact import NotExact, decimal_of

HOLDS = "holds"
FAILS = "fails"
TO_CONFIRM = "to confirm"

ORDERINGS: Mapping[str, Callable[[Decimal, Decimal], bool]] = {
    "<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Settled:
    """A condition and how it stands in a context."""

    condition: Condition
    state: str

    @property
    def text(self) -> str:
        """The condition in a mechanic's words."""
        return self.condition.text


def settle(condition: Condition, context: Mapping[str, object]) -> str:
    """HOLDS, FAILS, or TO_CONFIRM where the context is silent or holds something that cannot be compared.

    >>> settle(Condition("torque_nm", "<=", "300", "up to 300 Nm"), {"torque_nm": 280})
    'holds'
    >>> settle(Condition("torque_nm", "<=", "300", "up to 300 Nm"), {})
    'to confirm'
    """
    found = context.get(condition.key)
    if found is None or found == "":
        return TO_CONFIRM
    if condition.op in ORDERINGS:
        return _ordered(condition, found)
    holds = any(_same(one, condition.value) for one in _each(found))
    if condition.op == "!=":
        holds = not holds
    return HOLDS if holds else FAILS


def _ordered(condition: Condition, found: object) -> str:
    have, want = _number(found), _number(condition.value)
    if have is None or want is None:
        return TO_CONFIRM
    return HOLDS if ORDERINGS[condition.op](have, want) else FAILS


def _each(found: object) -> tuple[object, ...]:
    if isinstance(found, (list, tuple, set, frozenset)):
        return tuple(found)
    return (found,)


def _same(found: object, wanted: str) -> bool:
    if isinstance(found, bool):
        found = "true" if found else "false"
    have, want = _number(found), _number(wanted)
    if have is not None and want is not None:
        return have == want
    return str(found).strip().casefold() == wanted.strip().casefold()


def _number(value: object) -> Decimal | None:
    try:
        return decimal_of(value)
    except NotExact:
        return None

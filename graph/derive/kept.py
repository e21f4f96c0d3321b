"""What was computed, kept from question to question and handed on from one revision of the facts to the next.

Nothing in here holds an index. What is found of a pair stands under the two parts and their stamps: a change gives the
parts that it touches new stamps, never given before, so that the same table serves questions that began before the
change and those that came after it, and what no stamp leads to any more is the first to be forgotten.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from itertools import count, islice
from typing import Any, Generic, TypeVar

from graph.catalogue.layered import Pieced
from graph.catalogue.model import Part
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.measured import MeasuredFacts
from graph.fits.model import CheckResult
from graph.lookups.findings import PairFinding, Unknown
from graph.plates.bill import RATES

MOST_PAIRS = 20_000
Value = TypeVar("Value")
_STAMPS = count(1)


class Memo(Generic[Value]):
    """Values by key, at most so many: the oldest are forgotten, an eighth at a time. For any number of threads."""

    def __init__(self, most: int = MOST_PAIRS):
        self._most, self._known = most, dict[Any, Value]()

    def get(self, key: Any) -> Value | None:
        """The value, where it is still known."""
        return self._known.get(key)

    def put(self, key: Any, value: Value) -> None:
        """Keeps the value."""
        if len(self._known) >= self._most:
            for old in list(islice(self._known, self._most // 8)):  # made in one go, whatever other threads do
                self._known.pop(old, None)
        self._known[key] = value

    def that(self, suits: Callable[[Value], bool]) -> Memo[Value]:
        """A memo of its own of the values that suit."""
        made = Memo[Value](self._most)
        made._known = {key: value for key, value in self._known.copy().items() if suits(value)}
        return made


@dataclass(frozen=True, slots=True)
class KeptFindings:
    """What is measured, and what was found of pairs and seats. `stamps`: of the parts that changes have touched."""

    facts: MeasuredFacts
    pairs: Memo[PairFinding] = field(default_factory=Memo)
    bearings: Memo[tuple[tuple[str, ...], Unknown | None]] = field(default_factory=Memo)
    bearing_parts: dict[str, Part] = field(default_factory=dict)  # published bearings as parts
    stamps: Pieced[str, int] = field(default_factory=Pieced)

    def stamps_of(self, first: str, second: str) -> tuple[int, int]:
        """The stamps of a pair."""
        get = self.stamps.get
        return get(first, 0), get(second, 0)

    def handed_on(self, facts: MeasuredFacts, touched: Iterable[str], operations: frozenset[str]) -> KeptFindings:
        """For the next facts. `touched`: parts whose pairs are other now; `operations`: whose price is."""
        pairs = self.pairs
        if operations:
            pairs = pairs.that(lambda finding: operations.isdisjoint(_prices_read(finding)))
        stamps = self.stamps.changed(dict.fromkeys(touched, next(_STAMPS)))
        return replace(self, facts=facts, pairs=pairs, stamps=stamps)


def _prices_read(finding: PairFinding) -> set[str]:
    """The operations whose price the finding's edges rest on, or wait for."""
    found = {finding.unknown.price} if finding.unknown is not None else set()
    found |= _operations(finding.result) if finding.result is not None else set()
    check = JOINT_CHECKS[finding.joint]
    return found | set(RATES) if found or check.plates or check.adaptor else found


def _operations(result: CheckResult) -> set[str]:
    works = (*result.work, *(work for choice in result.choices for work in choice))
    return {work.operation for work in works}.union(*map(_operations, result.parts))

"""Exact odds of causes, given complaints and findings: a noisy-or network of causes, some of which bring others about.

A finding that is absent multiplies the chance by (1 - otherwise) * product of (1 - link) over the causes that are
there, so it falls apart into a factor for each cause. One that is present is 1 less that: sums over the subsets of what
is present, each with its sign (the inclusion and exclusion of noisy-or diagnosis: D. Heckerman, A tractable inference
algorithm for diagnosing multiple diseases, UAI 1989). Causes that bring others about (few) are gone through in all
their combinations; the others are then independent of each other. Nothing is sampled or cut off.

Arrays: rows are combinations of shared causes, columns subsets of what is present, the last axis single causes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from graph.complaints.model import Trade
from graph.errors import InvalidInput, Problem

Floats = NDArray[np.float64]
MOST_PRESENT = 12  # subsets double with each
TOO_MANY = f"at most {MOST_PRESENT} complaints and findings answered with yes can be weighed at once"


@dataclass(frozen=True)
class Network:
    """The tables as arrays. `ratios`: of causes that a reading speaks of; `priors`: instead of the table's."""

    trade: Trade
    ratios: Mapping[str, float]
    priors: Mapping[str, float]

    @cached_property
    def shared(self) -> tuple[str, ...]:
        """The causes that bring others about."""
        causes = self.trade.causes
        return tuple(one for one in causes if any(node in causes for node in self.trade.brings.get(one, {})))

    @cached_property
    def single(self) -> tuple[str, ...]:
        """All other causes."""
        return tuple(one for one in self.trade.causes if one not in self.shared)

    @cached_property
    def states(self) -> Floats:
        """Every combination of shared causes: rows of 0 and 1."""
        return np.array(list(product((0.0, 1.0), repeat=len(self.shared))))

    @cached_property
    def weights(self) -> Floats:
        """The chance of each combination, readings of shared causes weighed in."""
        prior = np.array([self._prior(one) for one in self.shared])
        ratio = np.array([self.ratios.get(one, 1.0) for one in self.shared])
        each = np.where(self.states > 0, prior * ratio, 1 - prior)
        return np.asarray(each.prod(axis=1))

    @cached_property
    def there(self) -> Floats:
        """How often each single cause is there, for each combination of shared ones."""
        absent = np.array([[1 - self._prior(one) for one in self.single]])
        for at, by in enumerate(self.shared):
            spared = np.array([1 - self.trade.brings[by].get(one, 0.0) for one in self.single])
            absent = absent * np.where(self.states[:, at : at + 1] > 0, spared, 1.0)
        return np.asarray(1 - np.broadcast_to(absent, (len(self.states), len(self.single))))

    def _prior(self, cause: str) -> float:
        return self.priors.get(cause, self.trade.causes[cause].prior)

    def absence(self, node: str) -> tuple[float, Floats, Floats]:
        """Why a complaint or finding is absent: by itself, in spite of each single cause, of each combination."""
        trade = self.trade
        about = trade.complaints.get(node) or trade.tests[node]
        links = [1 - trade.brings.get(one, {}).get(node, 0.0) for one in self.single]
        shared = np.array([1 - trade.brings.get(one, {}).get(node, 0.0) for one in self.shared])
        return 1 - about.otherwise, np.array(links), np.where(self.states > 0, shared, 1.0).prod(axis=1)


@dataclass(frozen=True)
class Belief:
    """What complaints and findings leave: `present` and `absent` by id.

    Raises InvalidInput for more that is present than can be weighed.
    """

    network: Network
    present: Sequence[str]
    absent: Sequence[str]

    def __post_init__(self) -> None:
        if len(self.present) > MOST_PRESENT:
            raise InvalidInput([Problem("findings", TOO_MANY)])

    @cached_property
    def _parts(self) -> tuple[Floats, Floats, Floats]:
        """Per combination and subset: its signed weight, and each single cause absent and present."""
        net = self.network
        weight, spared = net.weights[:, None], np.ones((1, 1, len(net.single)))
        for node in self.absent:
            alone, single, shared = net.absence(node)
            weight, spared = weight * alone * shared[:, None], spared * single
        for node in self.present:
            alone, single, shared = net.absence(node)
            weight = np.concatenate([weight, -weight * alone * shared[:, None]], axis=1)
            spared = np.concatenate([spared, spared * single], axis=1)
        ratio = np.array([net.ratios.get(one, 1.0) for one in net.single])
        there = net.there[:, None, :]
        return weight, 1 - there, there * ratio * spared

    @cached_property
    def chance(self) -> float:
        """How often all this is said and found together (up to the weight of readings)."""
        weight, absent, present = self._parts
        return float((weight * (absent + present).prod(axis=2)).sum())

    @cached_property
    def odds(self) -> dict[str, float]:
        """Of every cause, that it is there."""
        weight, absent, present = self._parts
        both = absent + present
        each = weight * both.prod(axis=2)
        single = (each[:, :, None] * present / both).sum(axis=(0, 1)) / self.chance
        shared = (each.sum(axis=1)[:, None] * self.network.states).sum(axis=0) / self.chance
        names = (*self.network.single, *self.network.shared)
        found = dict(zip(names, (*single, *shared), strict=True))
        return {cause: min(max(float(found[cause]), 0.0), 1.0) for cause in self.network.trade.causes}

    def none_of(self, causes: Sequence[str]) -> float:
        """The odds that none of these causes is there: something that the table does not know."""
        weight, absent, present = self._parts
        off = np.array([one in causes for one in self.network.single])
        shared_off = np.array([one in causes for one in self.network.shared], dtype=float)
        kept = (self.network.states @ shared_off == 0) if len(shared_off) else np.array([True])
        each = weight * np.where(off, absent, absent + present).prod(axis=2)
        return max(0.0, float(each[kept].sum()) / self.chance)

    def with_answer(self, node: str, *, yes: bool) -> Belief:
        """The same with one more answer."""
        if yes:
            return Belief(self.network, (*self.present, node), self.absent)
        return Belief(self.network, self.present, (*self.absent, node))

    def without(self, node: str) -> Belief:
        """The same as if this had not been said."""
        present = [one for one in self.present if one != node]
        return Belief(self.network, present, [one for one in self.absent if one != node])

"""Chains as whole steps: the lumps that their sums are made of.

All shifts of a chain are multiples of some length, its *step*; a limit lies on the last multiple inside it. Where the
allowed whole is narrow, few sums reach it: `residues` follows them modulo some number of steps. `base` is a modulus
that all shifts but one value leave at 0, so that even a short cycle counts how often that one is taken.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import gcd

import numpy as np
from numpy.typing import NDArray

from graph.search.columns import Columns
from graph.search.compiled import Compiled
from graph.search.numbers import IMPOSSIBLE, Ints

LONGEST_CYCLE = 4096


@dataclass(frozen=True, slots=True)
class Lumps:
    """One chain in steps: shifts by position and candidate, then by joint and link; what the whole may be.

    `low` and `high` are steps, clipped to what can be reached; `reach`: by how much two assemblies can differ.
    """

    steps: tuple[Ints, ...]
    low: int
    high: int
    reach: int
    base: int

    def moduli(self) -> Iterator[int]:
        """Cycles that tell more and more, ending with one that tells everything, if that is not too long."""
        modulus = self.base
        while modulus <= min(self.reach, LONGEST_CYCLE):
            if modulus > self.high - self.low + 1:
                yield modulus
            modulus *= 2
        if self.high - self.low < self.reach < LONGEST_CYCLE:
            yield self.reach + 1

    def allowed(self, modulus: int) -> NDArray[np.bool_]:
        """Which residues the whole may have."""
        made = np.zeros(modulus, dtype=np.bool_)
        width = min(self.high - self.low + 1, modulus)
        if width > 0:
            made[(self.low + np.arange(width)) % modulus] = True
        return made


def find_lumps(compiled: Compiled, columns: Columns) -> list[Lumps]:
    """Every chain that something shifts."""
    chains = len(columns.chain_limits) // 2
    stops = np.cumsum([len(ways) for ways in compiled.links])[:-1]
    made = []
    for chain in range(chains):
        place = columns.first_chain + chain
        shifts = [table[:, place] for table in columns.unary]
        shifts += np.split(columns.links[:, place], stops) if compiled.links else []
        values = {int(value) for some in shifts for value in np.unique(some)} - {0}
        if values:
            made.append(_lumps(shifts, values, columns.chain_limits[chain], columns.chain_limits[chains + chain]))
    return made


def _lumps(shifts: list[Ints], values: set[int], most: np.int64, most_negated: np.int64) -> Lumps:
    step = gcd(*values)
    steps = tuple(some // step for some in shifts)
    least = sum(int(some.min(initial=IMPOSSIBLE)) if len(some) else 0 for some in steps)
    largest = sum(int(some.max(initial=-IMPOSSIBLE)) if len(some) else 0 for some in steps)
    return Lumps(
        steps=steps,
        low=max(least, -(int(most_negated) // step)),
        high=min(largest, int(most) // step),
        reach=largest - least,
        base=max(gcd(*(values - {one})) // step for one in values) or 1,
    )

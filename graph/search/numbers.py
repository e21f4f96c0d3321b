"""All choices of a conversion as arrays of whole numbers: counted out once, added up by every search (`columns`)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graph.conversion.document import CandidateOrLink, Conversion

Ints = NDArray[np.int64]
IMPOSSIBLE = 1 << 50  # above any sum of costs, and 2**12 of them still fit 64 bits
POSSIBLE_BELOW = IMPOSSIBLE >> 1


@dataclass(frozen=True, slots=True)
class ChainColumn:
    """One chain's two columns: the most that its sum and its sum negated may be; whole numbers of micrometres.

    `settled_by`: far enough below both that no sum comes back up to them. `id`: None where assumed picks are counted.
    """

    id: str | None
    most: int
    most_negated: int
    settled_by: int = 0

    def sums(self, choice: CandidateOrLink) -> tuple[int, int]:
        """What a choice adds to the two columns."""
        if self.id is None:
            return int(choice.assumed), -int(choice.assumed)
        if self.settled_by and self.id in choice.unmeasured:
            return -self.settled_by, -self.settled_by
        shift = choice.shifts_um.get(self.id, 0)
        return shift, -shift


def chain_columns(conversion: Conversion, variables: Sequence[Sequence[CandidateOrLink]]) -> list[ChainColumn]:
    """The chains in order of their ids, then the number of assumed picks if it is limited."""
    made = []
    left_open = {chain for choices in variables for one in choices for chain in one.unmeasured}
    for chain in sorted(conversion.chains, key=lambda chain: chain.id):
        high = IMPOSSIBLE if chain.high_um is None else chain.high_um - chain.start_um
        low = IMPOSSIBLE if chain.low_um is None else chain.start_um - chain.low_um
        settled_by = 0
        if chain.id in left_open:
            reach = sum(max((abs(one.shifts_um.get(chain.id, 0)) for one in some), default=0) for some in variables)
            settled_by = 1 + reach + sum(abs(limit) for limit in (high, low) if limit != IMPOSSIBLE)
        made.append(ChainColumn(chain.id, high, low, settled_by))
    most = conversion.most_assumed
    if most is not None and sum(any(one.assumed for one in choices) for choices in variables) > most:
        made.append(ChainColumn(None, most, IMPOSSIBLE))
    return made


@dataclass(frozen=True, slots=True)
class Numbers:
    """By choice: all candidates position by position, then all links joint by joint.

    `sums`: what a choice adds to the chains' sums, then to these sums negated; money and hours in hundredths.
    """

    cash: Ints
    hours: Ints
    chains: tuple[ChainColumn, ...]
    sums: Ints

    def weighed(self, cash: int, hours: int, unit: int) -> Ints:
        """Cash and hours times these, rounded down to whole units; exact whatever the weights."""
        most = [int(np.abs(some).max(initial=0)) for some in (self.cash, self.hours)]
        if most[0] * cash + most[1] * hours < 1 << 62:
            weighed: Ints = (self.cash * cash + self.hours * hours) // unit
            return weighed
        both = zip(self.cash.tolist(), self.hours.tolist(), strict=True)
        return np.array([(one * cash + other * hours) // unit for one, other in both], dtype=np.int64)


def count_out(conversion: Conversion, variables: Sequence[Sequence[CandidateOrLink]]) -> Numbers:
    """The numbers of these choices."""
    chains, choices = chain_columns(conversion, variables), [one for some in variables for one in some]
    each = [[chain.sums(one) for chain in chains] for one in choices]
    sums = np.array(each, dtype=np.int64).reshape(len(choices), len(chains), 2)
    return Numbers(
        np.array([one.cash_hundredths for one in choices], dtype=np.int64),
        np.array([one.hours_hundredths for one in choices], dtype=np.int64),
        tuple(chains),
        sums.transpose(0, 2, 1).reshape(len(choices), 2 * len(chains)),
    )

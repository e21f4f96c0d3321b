"""What ties faults together: stated by a conversion document, or made of a shop's signs and handed on by a catalogue.

So it stands below both, which know nothing of each other. Standard library only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class CommonCause:
    """What makes several faults worn more often together: dirty oil, a misaligned housing.

    `odds`: how often it is there, more than 0 and less than 1. `if_there`: by fault id, the odds of that fault where it
    is. The fault's own `odds` stay what they are over all boxes, so where the cause is not there they are
    (odds of the fault - odds of the cause * odds if there) / (1 - odds of the cause). Given whether the cause is there,
    the faults are independent. Only faults of a position, each of at most one cause.
    """

    id: str
    label: str
    odds: Fraction
    if_there: Mapping[str, Fraction]

    def if_not(self, fault: str, odds: Fraction) -> Fraction:
        """The odds of a fault where the cause is not there; `odds`: its own, over all boxes.

        >>> CommonCause("dirt", "", Fraction(1, 4), {"ring": Fraction(7, 10)}).if_not("ring", Fraction(2, 5))
        Fraction(3, 10)
        """
        return (odds - self.odds * self.if_there[fault]) / (1 - self.odds)

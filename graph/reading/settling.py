"""What would settle a doubt: the readings of its parts that nobody has taken yet, as one look with tool and minutes."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Sequence
from fractions import Fraction
from math import ceil

from graph.catalogue.model import Catalogue
from graph.conversion.document import Inspection
from graph.reading.model import Settling

Reading = tuple[str, str]  # a part, and a quantity of it, or the joint kind at which its bolt face is meant
FACE_TOOL, FACE_MINUTES = "calliper, from the axis; or a tracing of the face", Fraction(30)  # common practice


Missing = Callable[[str, str, str], Sequence[Reading]]  # of a joint kind and two parts, see graph/derive/missing.py


class Looks:
    """Makes the inspections of doubts."""

    def __init__(self, catalogue: Catalogue, missing: Missing):
        self._catalogue, self._missing = catalogue, missing

    def of(
        self, fault: str, text: str, pairs: Sequence[tuple[str, str, str]], readings: Sequence[Reading],
        bought: Container[str], reach: tuple[str, ...],
    ) -> tuple[tuple[Inspection, ...], tuple[Settling, ...]]:  # fmt: skip
        """The look that settles the fault, and the readings it is made of; no look where nobody has said how long.

        `pairs`: joint and both parts. `readings`: what is missing besides. `bought`: parts from outside, which are read
        only where nothing else is left to read, and then loose as they are. `reach`: what must be open for the rest.
        """
        lacking = dict.fromkeys((*readings, *(reading for pair in pairs for reading in self._missing(*pair))))
        here = [reading for reading in lacking if reading[0] not in bought]
        wanted, opened = (here, reach) if here else (list(lacking), ())
        id_ = f"look/{fault.removeprefix('doubt/')}"
        settles = sorted(
            (self._settling(id_, part, quantity) for part, quantity in wanted),
            key=lambda one: (one.minutes is None, one.minutes or 0, one.of, one.quantity),
        )
        minutes = [one.minutes for one in settles if one.minutes is not None]
        if not settles or len(minutes) < len(settles):
            return (), tuple(settles) or tuple(self._by_sight(pairs))
        hours = ceil(sum(minutes) * Fraction(100, 60))
        return (Inspection(id_, f"measure: {text}", 0, hours, (fault,), opened),), tuple(settles)

    def is_only_unread(self, part: str, joint: str, ends: tuple[str, str]) -> bool:
        """Is every reading that the joint of the two lacks one of this part?"""
        lacking = self._missing(joint, *ends)
        return bool(lacking) and all(one == part for one, _ in lacking)

    def _settling(self, look: str, part: str, quantity: str) -> Settling:
        known = self._catalogue.quantities.get(quantity)
        if known is None and quantity in self._catalogue.joint_kinds:
            return Settling(look, quantity, part, FACE_TOOL, FACE_MINUTES)
        return Settling(look, quantity, part, known.usual_tool if known else "", known.minutes if known else None)

    def _by_sight(self, pairs: Sequence[tuple[str, str, str]]) -> Iterable[Settling]:
        """Where nothing can be measured: when it comes to light, as the kind of joint says, of the part that all the
        pairs have, else of the first."""
        for joint in sorted({pair[0] for pair in pairs}):
            met = [pair[1:] for pair in pairs if pair[0] == joint]
            shared = set(met[0]).intersection(*met[1:])
            of = min(shared) if len(shared) == 1 else met[0][0]
            if self._catalogue.joint_kinds[joint].found_out:
                yield Settling("", "", of, self._catalogue.joint_kinds[joint].found_out)

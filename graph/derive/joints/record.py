"""What a joint check is: one record that all who deal with the joint ask, whether they compute, draw, price or show.

A check takes a `Case` (two parts and what is measured of them) and returns a CheckResult; what is missing stays None
and the verdict UNKNOWN. Limits without a source are common practice and say so in the working.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from graph.derive.measured import Measured
from graph.fits.limits import Material
from graph.fits.model import (
    Amount,
    CheckResult,
    Dimension,
    Missing,
    Verdict,
    Work,
    Working,
    combine,
    show_nm,
    unknown,
    weakest,
)
from graph.fits.sketch import Sketch
from graph.fits.stack import judge, stack_up
from graph.fits.tables_drive import DriveTables, get_material

COMMON_PRACTICE = "common practice"
BEARING_STEEL = "bearing steel (through-hardened, 52100 / 100Cr6 type)"


@dataclass(frozen=True, slots=True)
class Case:
    """Two parts at a joint, first and second as the joint kind names its positions."""

    measured: Measured
    drive: DriveTables
    joint: str
    parts: tuple[str, str]

    def length(self, side: int, quantity: str) -> Dimension | None:
        """The settled length of one side."""
        return self.measured.length(self.parts[side], quantity)

    def word(self, side: int, quantity: str) -> str | None:
        """What was seen on one side."""
        found = self.measured.word(self.parts[side], quantity)
        return found.text if found else None

    def material(self, name: str) -> Material:
        """The published material."""
        return get_material(self.drive, name)

    @property
    def bearing_steel(self) -> Material:
        """What bearing rings are made of."""
        return self.material(BEARING_STEEL)


Need = tuple[int, str]


def nothing_more(_case: Case) -> tuple[Need, ...]:
    """No needs besides those that every pair has."""
    return ()


@dataclass(frozen=True, slots=True)
class SizedRemedy:
    """A remedy made to measure at the joint. `part_kind`: what it is; "" where a part is cut instead.

    `quantity`: what its size moves; `most_um`: how large it may get. `shortest`: the smallest size that serves is
    taken, not the middle; `own_work`: what is done to the second part for it, which cannot be undone.
    """

    quantity: str
    operation: str
    part_kind: str
    text: str
    most_um: int
    to_confirm: tuple[str, ...] = ()
    shortest: bool = False
    own_work: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AdaptorKind:
    """What stands between the faces of a joint: the part's kind, its work, the quantity its thickness is, what is
    turned besides its opening (`turned`), which readings it `wants`, what is paid with it, what to confirm, and a
    caution."""

    label: str
    part_kind: str
    operation: str
    moves: str
    turned: int = 0
    wants: tuple[Need, ...] = ()
    also: tuple[str, ...] = ()
    to_confirm: tuple[str, ...] = ()
    caution: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class JointCheck:
    """One joint kind's check, with all that is done about the joint because of it.

    `source`: where its limits come from. `needs`: (side, quantity) that it takes, and `more_needs` of a certain pair;
    `also`: needs that belong together and are asked for once the first of them is known, so that a reading begun is not
    passed over in silence; `chain_needs`: lengths that the chains want, each met by a measurement or by a noted shift.
    `faces`: it compares the bolt faces at that joint kind. `same`: a count that must be alike on both sides.
    `what_ifs`: the checks of the bench that try its arithmetic on typed dimensions. `usual_work`: operations that most
    often cure the joint (common practice), cheapest first where all are priced. `sketch`: the drawing of a piece of its
    work that is sent out, of a part so thick (nm). `plates`: an adapter plate may be made between the faces;
    `adaptor`: what may be made between faces that turn. `dial`: it is read by dial indicator.
    """

    joint: str
    run: Callable[[Case], CheckResult]
    source: str
    needs: tuple[Need, ...] = ()
    more_needs: Callable[[Case], tuple[Need, ...]] = nothing_more
    also: tuple[tuple[Need, ...], ...] = ()
    chain_needs: tuple[Need, ...] = ()
    faces: str = ""
    to_confirm: tuple[str, ...] = ()
    same: str = ""
    what_ifs: tuple[str, ...] = ()
    usual_work: tuple[str, ...] = ()
    remedy: SizedRemedy | None = None
    sketch: Callable[[Case, Work, int], Sketch | None] | None = None
    plates: bool = False
    adaptor: AdaptorKind | None = None
    dial: bool = False

    def needs_of(self, case: Case) -> tuple[Need, ...]:
        """All that it takes of this pair."""
        begun = (group for group in self.also if case.measured.has_any(case.parts[group[0][0]], [group[0][1]]))
        return (*self.needs, *self.more_needs(case), *(need for group in begun for need in group))


def first_failing(joint: str, results: Sequence[CheckResult]) -> CheckResult:
    """All of them as one; what fails already stands alone, as surely known as itself, whatever else is not known."""
    failing = next((result for result in results if result.verdict is Verdict.FAILS), None)
    return replace(failing, joint=joint) if failing is not None else combine(joint, results)


def within(
    joint: str, name: str, terms: Sequence[tuple[int, Dimension | None]], low: int | None, high: int | None, why: str
) -> CheckResult:
    """Does a signed sum of lengths lie between two limits (nm; None does not bind)?"""
    known = [(factor, length) for factor, length in terms if length is not None]
    if len(known) < len(terms):
        return unknown(joint, [Missing(name)])
    stack = stack_up(name, known)
    verdict, margin, missing = judge(stack, low, high)
    limits = " to ".join(show_nm(limit) if limit is not None else "any" for limit in (low, high))
    return CheckResult(
        joint=joint, verdict=verdict, summary=f"{name} {show_nm(stack.nominal_nm)}, wanted {limits}",
        margin=Amount.of_nm(margin), binding=name, values=(stack.span(),), measure=missing,
        working=Working((stack.line(name, why),)), evidence_rank=weakest([length for _, length in known]),
    )  # fmt: skip

"""The bolt-face joint: do two hole patterns line up, and if not, what slotting or drilling closes them?

Rule: every load bolt of the face that is fitted (face b: bell housing or plate) must find its hole, and two dowels
must locate it, because clamp bolts do not (common practice). A miss within what the fastener formulas allow less
the uncertainty of the places holds; within what they allow plus it, the places must be measured more closely.
Limits for slotting and drilling are common practice and are parameters, not constants of nature.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import hypot

from graph.fits.model import (
    NM_PER_MM,
    Amount,
    CheckResult,
    Line,
    Missing,
    Verdict,
    Work,
    Working,
    bare_mm,
    show_nm,
)  # fmt: skip
from graph.fits.pattern import CLEARANCE, DOWEL, THREAD, Face, Hole, as_seen_from
from graph.fits.pattern_match import NEAR_NM, Clocking, Pair, list_clockings

JOINT = "bolt face"
FORMULA_SOURCE = "ASME Y14.5 appendix B; fixed T = (H - F)/2, floating T = H - F"
DOWELS_WANTED = 2
CAUTION_DRILL = "Drilling or slotting cannot be undone: locate the parts on register or dowels before marking out."
CAUTION_DOWELS = "Clamp bolts do not locate: dial the housing in and dowel it before the joint carries load."


@dataclass(frozen=True, slots=True)
class DrillLimits:
    """What may be cut (common practice). Factors are of the fastener's diameter.

    `edge_factor`: least distance from a hole's axis to the edge; 1.5 in iron and steel, 2 in light alloy.
    `web_nm`: least wall between the rims of two holes. `slot_factor`: longest lengthening of a hole that a plain
    washer still bridges.
    """

    edge_factor: Fraction = Fraction(3, 2)
    web_nm: int = 5 * NM_PER_MM
    slot_factor: Fraction = Fraction(1, 4)


IRON_LIMITS = DrillLimits()
ALLOY_LIMITS = DrillLimits(edge_factor=Fraction(2))


@dataclass(frozen=True, slots=True)
class PatternFit:
    """The check's result, with the clocking it is about and the others that line up as many holes."""

    result: CheckResult
    clocking: Clocking | None
    others: tuple[Clocking, ...] = ()


def check_faces(
    a: Face,
    b: Face,
    *,
    bolt_nm: int | None = None,
    near_nm: int = NEAR_NM,
    from_deg: float = -180.0,
    to_deg: float = 180.0,
    limits: DrillLimits = IRON_LIMITS,
) -> PatternFit:
    """Whether face b bolts to face a at its best clocking angle, and what work makes it.

    Raises InvalidInput for faces or bounds that make no sense (see `Face`, `list_clockings`).
    """
    clockings = list_clockings(a, b, bolt_nm=bolt_nm, near_nm=near_nm, from_deg=from_deg, to_deg=to_deg)
    mirrored = as_seen_from(b, a.seen_from)
    if not clockings:
        result = CheckResult(
            joint=JOINT, verdict=Verdict.FAILS, binding="no hole meets another",
            summary=f"no hole of {b.label} comes within {show_nm(near_nm)} of one of {a.label}: adapter plate",
            evidence_rank=max(a.evidence_rank, b.evidence_rank),
        )  # fmt: skip
        return PatternFit(result, None)
    best = clockings[0]
    return PatternFit(_Judged(a, mirrored, best, limits, bolt_nm).result(), best, clockings[1:])


class _Judged:
    """Works out the verdict at one clocking angle."""

    def __init__(self, a: Face, b: Face, clocking: Clocking, limits: DrillLimits, bolt_nm: int | None):
        self.a, self.b, self.clocking, self.limits, self.bolt_nm = a, b, clocking, limits, bolt_nm
        self.work: list[Work] = []
        self.measure: list[Missing] = []
        self.failures: list[str] = []
        self.slack: list[tuple[Fraction, str]] = []

    def result(self) -> CheckResult:
        for pair in self.clocking.lined_up:
            self._judge_lined_up(pair)
        for pair in self.clocking.near:
            if pair.b.load or pair.b.use == DOWEL:
                self._judge_near(pair)
        for hole in self.clocking.left_b:
            if hole.load and hole.use != DOWEL:
                self.failures.append(f"no hole of {self.a.label} near {_name(hole)} of {self.b.label}")
        self._judge_dowels()
        margin, binding = min(self.slack, default=(None, ""))
        return CheckResult(
            joint=JOINT, verdict=self._verdict(), summary=self._summary(),
            margin=None if margin is None or self._verdict() is Verdict.UNKNOWN else Amount.of_nm(margin),
            binding=self.failures[0] if self.failures else binding,
            work=tuple(self.work), choices=(tuple(self.work),) if self.work else (), measure=tuple(self.measure),
            working=Working(tuple(_line(pair) for pair in self.clocking.lined_up + self.clocking.near)),
            cautions=self._cautions(), evidence_rank=max(self.a.evidence_rank, self.b.evidence_rank),
        )  # fmt: skip

    def _verdict(self) -> Verdict:
        if self.failures:
            return Verdict.FAILS
        if self.measure:
            return Verdict.UNKNOWN
        return Verdict.HOLDS_WITH_WORK if self.work else Verdict.HOLDS

    def _summary(self) -> str:
        wanted = sum(hole.load and hole.use in (THREAD, CLEARANCE) for hole in self.b.holes)
        bolts = len(self.clocking.lined_up) - self.clocking.dowels
        dowels = self.clocking.dowels
        text = f"at {self.clocking.angle_deg:.2f} deg {bolts} of {wanted} load bolts and {dowels} dowels line up"
        if self.clocking.near:
            text += f", {len(self.clocking.near)} near misses"
        return "; ".join([text, *self.failures])

    def _cautions(self) -> tuple[str, ...]:
        cautions = [CAUTION_DRILL] if any(item.irreversible for item in self.work) else []
        return tuple(cautions + ([CAUTION_DOWELS] if self.clocking.dowels < DOWELS_WANTED else []))

    def _judge_lined_up(self, pair: Pair) -> None:
        allowed = pair.allowed_nm or Fraction(0)
        room = allowed - pair.miss_nm - self.clocking.uncertainty_nm
        if pair.a.use == DOWEL:
            return  # a dowel is proved by dial gauge and reamer, not by coordinates
        self.slack.append((room, f"{_name(pair.b)} on {_name(pair.a)}"))
        if room < 0:
            self.measure.append(
                Missing(
                    f"the places of {_name(pair.a)} and {_name(pair.b)} more closely",
                    f"they miss by {show_nm(pair.miss_nm)} +/- {show_nm(self.clocking.uncertainty_nm)}, "
                    f"{show_nm(allowed)} is allowed",
                    self.a.axis,
                )
            )

    def _judge_near(self, pair: Pair) -> None:
        miss = f"{_name(pair.b)} misses {_name(pair.a)} by {show_nm(pair.miss_nm)}"
        if pair.b.use == DOWEL:
            self._redrill(pair, miss)
        elif pair.a.use == pair.b.use == THREAD:
            self._open_thread(pair)
        elif pair.allowed_nm is None:
            self.measure.append(Missing(f"the bolt for {_name(pair.a)} and {_name(pair.b)}", "two clearance holes"))
        elif not self._widened(pair, pair.allowed_nm, miss):
            self._redrill(pair, miss)

    def _widened(self, pair: Pair, allowed: Fraction, miss: str) -> bool:
        """Whether the clearance hole can be slotted towards the miss (or opened out, if it is too small)."""
        part, hole = (self.b, pair.b) if pair.b.use == CLEARANCE else (self.a, pair.a)
        bolt = self._fastener_nm(pair)
        grown = _up(pair.miss_nm + self.clocking.uncertainty_nm - allowed)
        if grown > self.limits.slot_factor * bolt or not self._web(part, hole, grown):
            return False
        wanted_edge = self.limits.edge_factor * bolt + grown
        if hole.edge_nm is None:
            why = f"{miss}; widening by {show_nm(grown)} wants {show_nm(wanted_edge)} to the edge"
            self.measure.append(Missing(f"edge distance of {_name(hole)} on {part.label}", why, "hole axis"))
            return True
        if hole.edge_nm < wanted_edge:
            return False
        if allowed < 0:
            size = hole.diameter_nm + 2 * grown
            text = f"open {_name(hole)} of {part.label} out to {show_nm(size)}"
            self.work.append(Work("open-hole", part.id, text, Amount.of_nm(size), irreversible=True))
            return True
        sign, target = (-1, pair.a) if part is self.b else (1, pair.b)
        dx, dy = sign * pair.dx_nm, sign * pair.dy_nm
        text = (
            f"slot {_name(hole)} of {part.label} by {show_nm(grown)} towards {_name(target)} "
            f"({bare_mm(dx)} right, {bare_mm(dy)} up, as fitted)"
        )
        self.work.append(Work("slot-hole", part.id, text, Amount.of_nm(grown), irreversible=True, weak=True))
        return True

    def _redrill(self, pair: Pair, miss: str) -> None:
        """Drill face b where face a wants it. An old hole that the new one would break into is plugged first."""
        hole, off = pair.b, show_nm(pair.miss_nm)
        if hole.edge_nm is None:
            name = f"edge distance of {_name(hole)} on {self.b.label}"
            self.measure.append(Missing(name, f"{miss}; may it be redrilled?", "hole axis"))
            return
        needed = self.limits.edge_factor * self._fastener_nm(pair)
        room = hole.edge_nm - pair.miss_nm
        if room < needed:
            found = f"{show_nm(room)} from the edge, {show_nm(needed)} wanted"
            self.failures.append(f"{miss}, and redrilled there it may stand {found}")
            return
        if not self._web(self.b, hole, pair.miss_nm):
            web = show_nm(self.limits.web_nm)
            self.failures.append(f"{miss}, and redrilled there it comes within {web} of the next hole")
            return
        plug = "plug and " if pair.miss_nm < hole.diameter_nm + self.limits.web_nm else ""
        text = f"{plug}redrill {_name(hole)} of {self.b.label}, {off} off, from {_name(pair.a)}"
        self.work.append(Work("redrill-hole", self.b.id, text, Amount.of_nm(pair.miss_nm), irreversible=True))

    def _open_thread(self, pair: Pair) -> None:
        if pair.b.diameter_nm > pair.a.diameter_nm:
            self.failures.append(f"{_name(pair.b)} is threaded larger than {_name(pair.a)}: stepped stud or insert")
            return
        text = f"drill the thread out of {_name(pair.b)} of {self.b.label} to a clearance hole for {_name(pair.a)}"
        self.work.append(Work("open-thread", self.b.id, text, irreversible=True))

    def _judge_dowels(self) -> None:
        redrilled = sum(pair.b.use == DOWEL for pair in self.clocking.near)
        lacking = DOWELS_WANTED - self.clocking.dowels - redrilled
        if lacking > 0:
            text = f"dial in and fit {lacking} dowels between {self.a.label} and {self.b.label}, reamed in place"
            amount = Amount(Fraction(lacking), "dowels")
            self.work.append(Work("fit-dowels", self.b.id, text, amount, irreversible=True))

    def _fastener_nm(self, pair: Pair) -> int:
        threads = [hole.diameter_nm for hole in (pair.a, pair.b) if hole.use in (THREAD, DOWEL)]
        return threads[0] if threads else self.bolt_nm or min(pair.a.diameter_nm, pair.b.diameter_nm)

    def _web(self, part: Face, hole: Hole, grown_nm: int) -> bool:
        """Whether enough wall stays between this hole, moved or grown by so much, and its neighbours."""
        for other in part.holes:
            if other.id == hole.id:
                continue
            apart = hypot(other.x_nm - hole.x_nm, other.y_nm - hole.y_nm)
            if apart - (other.diameter_nm + hole.diameter_nm) / 2 - grown_nm < self.limits.web_nm:
                return False
        return True


def _line(pair: Pair) -> Line:
    a, b = pair.a, pair.b
    symbol = f"{_name(b)} on {_name(a)}: miss"
    found = show_nm(pair.miss_nm)
    if pair.allowed_nm is None:
        return Line(symbol, "|b - a|", "", f"{found}; {a.use} on {b.use} takes no fastener as it is", "geometry")
    sizes = f"from diameters {bare_mm(a.diameter_nm)} and {bare_mm(b.diameter_nm)}"
    return Line(symbol, "|b - a|", "", f"{found}; allowed {show_nm(pair.allowed_nm)} {sizes}", FORMULA_SOURCE)


def _name(hole: Hole) -> str:
    return f"{hole.use} {hole.id}" + (f" ({hole.thread})" if hole.thread else "")


def _up(value: Fraction) -> int:
    return -((-value.numerator) // value.denominator)

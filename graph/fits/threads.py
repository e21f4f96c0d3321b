"""Metric threads and the holes for them: pitch, tapping drill, clearance hole, counterbore, engagement.

Sources: ISO 261/262 (diameters and pitches), ISO 273 (clearance holes), ISO 4762 (socket heads), DIN 974-1
(counterbores); tapping drill = d - P, common practice. Engagement of a steel bolt (common practice): 1 d in steel,
1.5 d in cast iron, 2 d in light alloy; under a flush head at least 0.4 of the bolt's diameter of plate stays.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, NotFound, Problem
from graph.exact import NotExact, fraction_of
from graph.fits.model import NM_PER_MM, Amount, CheckResult, Line, Verdict, Working, bare_mm, show_nm, show_number
from graph.fits.tables import ClearanceHole, Tables, Thread

ENGAGEMENT = {"steel": Fraction(1), "cast iron": Fraction(3, 2), "light alloy": Fraction(2)}  # in bolt diameters
FLOOR_PART = Fraction(2, 5)  # of the bolt's diameter, common practice
HOLE_SOURCE = "ISO 273"
THREAD_SOURCE = "ISO 261/262; tapping drill d - P, common practice"
HEAD_SOURCE = "ISO 4762 head, DIN 974-1 counterbore; floor 0.4 d, common practice"
ENGAGEMENT_SOURCE = "1 d in steel, 1.5 d in cast iron, 2 d in light alloy, common practice"
HOLE_READING_NM = NM_PER_MM // 5  # a drilled hole read by calliper, 0.2 mm either way, common practice
PITCH_CAUTION = "The pitch is the coarse series' by default: prove it with a thread gauge."
_NAME = re.compile(r"M\s*(\d+(?:[.,]\d+)?)(?:\s*[x×*]\s*(\d+(?:[.,]\d+)?))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class NamedThread:
    """A thread with the pitch meant. `assumed`: nobody stated the pitch, the coarse one is taken."""

    thread: Thread
    pitch_nm: int
    assumed: bool

    @property
    def name(self) -> str:
        """`M10x1.5`."""
        return f"{self.thread.name}x{show_number(Fraction(self.pitch_nm, NM_PER_MM))}"

    @property
    def tapping_nm(self) -> int:
        """The tapping drill: nominal diameter less the pitch."""
        return self.thread.diameter_nm - self.pitch_nm


def get_thread(tables: Tables, name: str) -> NamedThread:
    """The thread of a name such as `M10` or `M12x1.5`. Raises NotFound, or InvalidInput for a pitch not of ISO 261."""
    match = _NAME.fullmatch(name.strip())
    known = [thread.name for thread in tables.threads]
    if match is None:
        raise NotFound("metric thread", name, known)
    size, pitch = (_exact_nm(text) for text in match.groups())
    found = next((thread for thread in tables.threads if thread.diameter_nm == size), None)
    if found is None:
        near = sorted(tables.threads, key=lambda thread: abs(thread.diameter_nm - (size or 0)))[:3]
        raise NotFound("metric thread of ISO 261", name, [thread.name for thread in near])
    pitches = (found.coarse_nm, *found.fine_nm)
    if pitch is not None and pitch not in pitches:
        text = ", ".join(f"{found.name}x{show_number(Fraction(nm, NM_PER_MM))}" for nm in pitches)
        raise InvalidInput([Problem("thread", f"ISO 261 has {text}, found {name!r}: gauge the pitch")])
    return NamedThread(found, pitch or found.coarse_nm, pitch is None)


def _exact_nm(text: str | None) -> int | None:
    if text is None:
        return None
    try:
        exact = fraction_of(text.replace(",", ".")) * NM_PER_MM
    except NotExact:
        return None
    return int(exact) if exact.denominator == 1 else None


def get_clearance_hole(tables: Tables, thread: Thread) -> ClearanceHole:
    """The ISO 273 holes for a thread. Raises NotFound naming the tabled ones."""
    for hole in tables.holes:
        if hole.thread == thread.name:
            return hole
    raise NotFound("ISO 273 clearance hole", thread.name, [hole.thread for hole in tables.holes])


def find_thread_of_hole(tables: Tables, hole_nm: int, reading_nm: int = HOLE_READING_NM) -> Thread | None:
    """The thread that a clearance hole is drilled for: the nearest ISO 273 size, medium series first where two are as
    near; None where no size lies within the reading (inch holes, worn holes).

    11 mm is M10, 13.5 is M12, 9 is M8 (all medium).
    """
    found: list[tuple[int, int, int, Thread]] = []
    for thread in tables.threads:
        holes = get_clearance_hole(tables, thread)
        for order, size in enumerate((holes.medium_nm, holes.fine_nm, holes.coarse_nm)):
            if abs(size - hole_nm) <= reading_nm:
                found.append((abs(size - hole_nm), order, thread.diameter_nm, thread))
    return min(found, key=lambda row: row[:3])[3] if found else None


def least_plate_nm(thread: Thread) -> Fraction:
    """The least plate for flush heads of that thread: head height and 0.4 of the diameter under it."""
    return thread.head_height_nm + FLOOR_PART * thread.diameter_nm


def check_bolt_hole(
    tables: Tables,
    named: NamedThread,
    *,
    hole_nm: int | None = None,
    plate_nm: int | None = None,
    engaged_nm: int | None = None,
    into: str = "steel",
) -> CheckResult:
    """What a metric bolt asks of its holes, and whether those given do. Lengths nm; None is not asked.

    `hole_nm`: a clearance hole as drilled; `plate_nm`: plate with a flush head in it; `engaged_nm`: thread engaged
    `into` steel, cast iron or light alloy.
    """
    if into not in ENGAGEMENT:
        raise InvalidInput([Problem("into", f"expected {', '.join(ENGAGEMENT)}, found {into!r}")])
    thread, holes = named.thread, get_clearance_hole(tables, named.thread)
    wanted = ENGAGEMENT[into] * thread.diameter_nm
    sizes = f"{bare_mm(holes.fine_nm)} / {bare_mm(holes.medium_nm)} / {bare_mm(holes.coarse_nm)} mm"
    pitch = f"{bare_mm(thread.diameter_nm)} - {bare_mm(named.pitch_nm)}"
    head = f"{bare_mm(thread.head_height_nm)} + 0.4 x {bare_mm(thread.diameter_nm)}"
    engaged = f"{show_number(ENGAGEMENT[into])} x {bare_mm(thread.diameter_nm)}"
    lines = [
        Line("clearance hole", "fine / medium / coarse", "", sizes, HOLE_SOURCE),
        Line("tapping drill", "d - P", pitch, show_nm(named.tapping_nm), THREAD_SOURCE),
        Line("least plate", "head height + 0.4 d", head, show_nm(least_plate_nm(thread)), HEAD_SOURCE),
        Line(f"engagement in {into}", "factor x d", engaged, show_nm(wanted), ENGAGEMENT_SOURCE),
    ]
    rooms: list[tuple[str, Fraction]] = []
    if hole_nm is not None:
        rooms.append(("clearance hole", Fraction(hole_nm - holes.fine_nm)))
    if plate_nm is not None:
        rooms.append(("plate under the flush head", plate_nm - least_plate_nm(thread)))
    if engaged_nm is not None:
        rooms.append(("thread engagement", engaged_nm - wanted))
    binding, margin = min(rooms, key=lambda room: room[1]) if rooms else ("", None)
    short = [f"{name} {show_nm(-room)} short" for name, room in rooms if room < 0]
    medium, bore = show_nm(holes.medium_nm), show_nm(thread.counterbore_nm)
    summary = f"{named.name}: hole {medium} (medium), counterbore {bore} x {show_nm(thread.head_height_nm)} deep"
    return CheckResult(
        joint="bolt hole", verdict=Verdict.FAILS if short else Verdict.HOLDS, summary="; ".join([summary, *short]),
        margin=None if margin is None else Amount.of_nm(margin), binding=binding, working=Working(tuple(lines)),
        cautions=(PITCH_CAUTION,) if named.assumed else (),
        evidence_rank=5,
    )  # fmt: skip


def list_engagements(thread: Thread) -> Sequence[str]:
    """`10.000 mm in steel`, one for each material."""
    return [f"{show_nm(part * thread.diameter_nm)} in {material}" for material, part in ENGAGEMENT.items()]

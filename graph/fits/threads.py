"""Threads and the holes for them: pitch, tapping drill, clearance hole, counterbore, engagement.

Metric: ISO 261/262 (diameters and pitches), ISO 273 (clearance holes), ISO 4762 (socket heads), DIN 974-1
(counterbores). Inch, where a hole names it: ASME B1.1, B18.2.8, B18.3. Tapping drill = d - P, common practice.
Engagement of a steel bolt (common practice): 1 d in steel, 1.5 d in cast iron, 2 d in light alloy; under a flush head
at least 0.4 of the bolt's diameter of plate stays.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.errors import InvalidInput, NotFound, Problem
from graph.exact import NotExact, fraction_of
from graph.fits.model import (
    NM_PER_INCH,
    NM_PER_MM,
    Amount,
    CheckResult,
    Line,
    Verdict,
    Working,
    bare_mm,
    show_nm,
    show_number,
)
from graph.fits.tables import ClearanceHole, Tables, Thread

ENGAGEMENT = {"steel": Fraction(1), "cast iron": Fraction(3, 2), "light alloy": Fraction(2)}  # in bolt diameters
FLOOR_PART = Fraction(2, 5)  # of the bolt's diameter, common practice
HOLE_SOURCE = "ISO 273"
THREAD_SOURCE = "ISO 261/262; tapping drill d - P, common practice"
HEAD_SOURCE = "ISO 4762 head, DIN 974-1 counterbore; floor 0.4 d, common practice"
ENGAGEMENT_SOURCE = "1 d in steel, 1.5 d in cast iron, 2 d in light alloy, common practice"
HOLE_READING_NM = NM_PER_MM // 5  # a drilled hole read by calliper, 0.2 mm either way, common practice
PITCH_CAUTION = "The pitch is the coarse series' by default: prove it with a thread gauge."
INCH_HOLE_SOURCE = "ASME B18.2.8"
METRIC_SOURCES = (HOLE_SOURCE, THREAD_SOURCE, HEAD_SOURCE)
INCH_SOURCES = (
    INCH_HOLE_SOURCE, "ASME B1.1; tapping drill d - P, common practice",
    "ASME B18.3 head and counterbore; floor 0.4 d, common practice",
)  # fmt: skip
_INCH = re.compile(r"(\d+/\d+)\s*(?:in|inch|\")?\s*(?:-\s*(\d+))?\s*(?:\b(UNC|UNF))?", re.IGNORECASE)
_NAME = re.compile(r"M\s*(\d+(?:[.,]\d+)?)(?:\s*[x×*]\s*(\d+(?:[.,]\d+)?))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class NamedThread:
    """A thread with the pitch meant. `assumed`: nobody stated the pitch, the coarse one is taken."""

    thread: Thread
    pitch_nm: int
    assumed: bool

    @property
    def name(self) -> str:
        """`M10x1.5`, `3/8-16 UNC`."""
        if is_inch(self.thread.name):
            series = "UNC" if self.pitch_nm == self.thread.coarse_nm else "UNF"
            return f"{self.thread.name}-{round(Fraction(NM_PER_INCH, self.pitch_nm))} {series}"
        return f"{self.thread.name}x{show_number(Fraction(self.pitch_nm, NM_PER_MM))}"

    @property
    def tapping_nm(self) -> int:
        """The tapping drill: nominal diameter less the pitch."""
        return self.thread.diameter_nm - self.pitch_nm


def get_thread(tables: Tables, name: str) -> NamedThread:
    """The thread of a name such as `M10`, `M12x1.5`, `3/8-16 UNC` or `7/16 UNF`.

    Raises NotFound, or InvalidInput for a pitch not of ISO 261 or of ASME B1.1.
    """
    inch = _INCH.fullmatch(name.strip())
    if inch is not None:
        return _inch_thread(tables, name, *inch.groups())
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
    if match[2] and pitch not in pitches:
        text = ", ".join(f"{found.name}x{show_number(Fraction(nm, NM_PER_MM))}" for nm in pitches)
        raise InvalidInput([Problem("thread", f"ISO 261 has {text}, found {name!r}: gauge the pitch")])
    return NamedThread(found, pitch or found.coarse_nm, pitch is None)


def clearance_words(thread: Thread) -> str:
    """Whose medium clearance hole a thread gets: `ISO 273 medium`, `ASME B18.2.8 normal`."""
    return f"{INCH_HOLE_SOURCE} normal" if is_inch(thread.name) else f"{HOLE_SOURCE} medium"


def is_inch(name: str) -> bool:
    """Is it the name of an inch thread?"""
    return "/" in name


def _inch_thread(tables: Tables, name: str, size: str, per_inch: str | None, series: str | None) -> NamedThread:
    found = next((thread for thread in tables.inch_threads if thread.name == size), None)
    if found is None:
        raise NotFound("inch thread of ASME B1.1", name, [thread.name for thread in tables.inch_threads])
    pitches = {"UNC": found.coarse_nm, "UNF": found.fine_nm[0]}
    said = [pitches[series.upper()]] if series else []
    if per_inch:  # none to the inch is no pitch of any thread: a stated 0 is not silence
        said.append(round(Fraction(NM_PER_INCH, int(per_inch))) if int(per_inch) else 0)
    if any(pitch not in pitches.values() or pitch != said[0] for pitch in said):
        text = " or ".join(NamedThread(found, pitch, False).name for pitch in pitches.values())
        raise InvalidInput([Problem("thread", f"ASME B1.1 has {text}, found {name!r}: gauge the pitch")])
    return NamedThread(found, said[0] if said else found.coarse_nm, not said)


def _exact_nm(text: str | None) -> int | None:
    if text is None:
        return None
    try:
        exact = fraction_of(text.replace(",", ".")) * NM_PER_MM
    except NotExact:
        return None
    return int(exact) if exact.denominator == 1 else None


def get_clearance_hole(tables: Tables, thread: Thread) -> ClearanceHole:
    """The holes for a thread: ISO 273, or ASME B18.2.8 (close, normal, loose). Raises NotFound naming those tabled."""
    for hole in (*tables.holes, *tables.inch_holes):
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
    """What a bolt asks of its holes, and whether those given do. Lengths nm; None is not asked.

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
    hole_source, thread_source, head_source = INCH_SOURCES if is_inch(thread.name) else METRIC_SOURCES
    small, medium_word, large = ("close", "normal", "loose") if is_inch(thread.name) else ("fine", "medium", "coarse")
    engaged = f"{show_number(ENGAGEMENT[into])} x {bare_mm(thread.diameter_nm)}"
    lines = [
        Line("clearance hole", f"{small} / {medium_word} / {large}", "", sizes, hole_source),
        Line("tapping drill", "d - P", pitch, show_nm(named.tapping_nm), thread_source),
        Line("least plate", "head height + 0.4 d", head, show_nm(least_plate_nm(thread)), head_source),
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
    summary = f"{named.name}: hole {medium} ({medium_word}), counterbore {bore} x {show_nm(thread.head_height_nm)} deep"
    return CheckResult(
        joint="bolt hole", verdict=Verdict.FAILS if short else Verdict.HOLDS, summary="; ".join([summary, *short]),
        margin=None if margin is None else Amount.of_nm(margin), binding=binding, working=Working(tuple(lines)),
        cautions=(PITCH_CAUTION,) if named.assumed else (),
        evidence_rank=5,
    )  # fmt: skip


def list_engagements(thread: Thread) -> Sequence[str]:
    """`10.000 mm in steel`, one for each material."""
    return [f"{show_nm(part * thread.diameter_nm)} in {material}" for material, part in ENGAGEMENT.items()]

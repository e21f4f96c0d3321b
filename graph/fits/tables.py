"""The published tables of facts/standards, read once and typed. The only I/O of the joint checks.

Lengths are whole nanometres, forces newtons, the rest as named. Each row keeps its source, edition and
confidence ("two-source", "one-source", "memory"). Loading raises InvalidFacts naming file and line.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from graph.errors import InvalidFacts, Problem
from graph.exact import NotExact, fraction_of, scaled
from graph.fits.model import NM_PER_INCH, NM_PER_MM, NM_PER_UM

STANDARDS = Path(__file__).resolve().parents[2] / "facts" / "standards"
Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a row was copied from and how far to trust it."""

    source: str
    edition: str
    confidence: str

    def __str__(self) -> str:
        return f"{self.edition} ({self.confidence})"


@dataclass(frozen=True, slots=True)
class Deviation:
    """Limits of an ISO 286 class for sizes over `over_nm` up to and including `incl_nm`."""

    kind: str  # hole or shaft
    cls: str
    over_nm: int
    incl_nm: int
    upper_nm: int
    lower_nm: int
    origin: Origin


@dataclass(frozen=True, slots=True)
class RingDeviation:
    """ISO 492 deviation of a bearing ring, class Normal. `quantity` as the table words it."""

    ring: str  # inner or outer
    quantity: str
    over_nm: int
    incl_nm: int
    upper_nm: int
    lower_nm: int
    origin: Origin


@dataclass(frozen=True, slots=True)
class Bearing:
    """A deep groove ball bearing of ISO 15. `ratings`: (catalogue, dynamic C in N, static C0 in N)."""

    designation: str
    series: str
    bore_nm: int
    od_nm: int
    width_nm: int
    chamfer_nm: int
    ratings: tuple[tuple[str, int, int], ...]
    origin: Origin


@dataclass(frozen=True, slots=True)
class RetainingRing:
    """A ring of DIN 471 (on a shaft) or DIN 472 (in a bore) of that size, and its groove."""

    standard: str
    size_nm: int
    thickness_nm: int
    thickness_lower_nm: int
    groove_nm: int
    groove_upper_nm: int
    groove_lower_nm: int
    groove_width_nm: int
    edge_margin_nm: int
    groove_force_n: int
    origin: Origin


@dataclass(frozen=True, slots=True)
class ClearanceHole:
    """ISO 273 clearance holes of one thread: fine, medium, coarse."""

    thread: str
    fine_nm: int
    medium_nm: int
    coarse_nm: int
    origin: Origin


@dataclass(frozen=True, slots=True)
class Thread:
    """A metric thread of ISO 261 with its socket head (ISO 4762) and the counterbore for it."""

    name: str
    diameter_nm: int
    coarse_nm: int
    fine_nm: tuple[int, ...]
    head_diameter_nm: int
    head_height_nm: int
    counterbore_nm: int
    origin: Origin


@dataclass(frozen=True, slots=True)
class Bolt:
    """A coarse-thread bolt of ISO 898-1. Stress area in mm2, proof stress in MPa, loads in N."""

    thread: str
    property_class: str
    diameter_nm: int
    stress_area_mm2: Fraction
    proof_stress_mpa: int
    proof_load_n: int
    tensile_load_n: int
    origin: Origin


@dataclass(frozen=True, slots=True)
class Tables:
    """All tables of the fits that need sizes: limits, bearings, rings, holes, bolts, threads."""

    deviations: tuple[Deviation, ...]
    ring_deviations: tuple[RingDeviation, ...]
    bearings: tuple[Bearing, ...]
    rings: tuple[RetainingRing, ...]
    holes: tuple[ClearanceHole, ...]
    bolts: tuple[Bolt, ...]
    threads: tuple[Thread, ...]
    inch_threads: tuple[Thread, ...] = ()
    inch_holes: tuple[ClearanceHole, ...] = ()


class CsvRecord:
    """One CSV row with typed getters; a fault raises InvalidFacts naming file, line and column."""

    def __init__(self, file: str, line: int, cells: Mapping[str, str]):
        self.file, self.line, self.cells = file, line, cells

    def fault(self, column: str, text: str) -> InvalidFacts:
        """The error for this cell."""
        return InvalidFacts([Problem(f"{self.file} line {self.line}, {column}", text)])

    def text(self, column: str) -> str:
        """The cell, which may not be empty."""
        value = self.cells.get(column)
        if value is None or not value.strip():
            raise self.fault(column, "expected a value, found an empty cell")
        return value.strip()

    def has(self, column: str) -> bool:
        """True where the cell is not empty."""
        return bool((self.cells.get(column) or "").strip())

    def nm(self, column: str, unit_nm: int = NM_PER_MM) -> int:
        """The cell as whole nanometres."""
        return self._exact(column, lambda value: scaled(value, unit_nm))

    def inch(self, column: str) -> int:
        """A cell in inches as whole nanometres."""
        return self.nm(column, NM_PER_INCH)

    def um(self, column: str) -> int:
        """A cell in micrometres as whole nanometres."""
        return self.nm(column, NM_PER_UM)

    def whole(self, column: str, scale: int = 1) -> int:
        """The cell times `scale` as a whole number."""
        return self._exact(column, lambda value: scaled(value, scale))

    def number(self, column: str) -> Fraction:
        """The cell as an exact fraction."""
        return self._exact(column, fraction_of)

    def origin(self) -> Origin:
        """Source, edition, confidence; none may be empty."""
        return Origin(self.text("source"), self.text("edition"), self.text("confidence"))

    def _exact(self, column: str, read: Callable[[str], Row]) -> Row:
        try:
            return read(self.text(column))
        except NotExact as error:
            raise self.fault(column, str(error)) from None


def read_records(name: str, folder: Path = STANDARDS) -> Iterator[CsvRecord]:
    """The rows of `<name>.csv`. Raises InvalidFacts for a missing file or a row with too many or few cells."""
    path = folder / f"{name}.csv"
    try:
        with path.open(newline="", encoding="utf-8") as stream:
            for line, cells in enumerate(csv.DictReader(stream), start=2):
                if None in cells or None in cells.values():
                    raise InvalidFacts([Problem(f"{path.name} line {line}", "more or fewer cells than the head has")])
                yield CsvRecord(path.name, line, cells)
    except OSError as error:
        raise InvalidFacts([Problem(path.name, f"cannot be read: {error.strerror}")]) from None


@lru_cache(maxsize=4)
def load_tables(folder: Path = STANDARDS) -> Tables:
    """The size tables of a folder (default: those of this project), read once. Raises InvalidFacts."""
    return Tables(
        deviations=tuple(_deviation(row) for row in read_records("iso286_deviations", folder)),
        ring_deviations=tuple(_ring_deviation(row) for row in read_records("iso492_normal", folder)),
        bearings=tuple(_bearing(row) for row in read_records("iso15_ball_bearings", folder)),
        rings=tuple(_both_rings(folder)),
        holes=tuple(_hole(row) for row in read_records("iso273_clearance_holes", folder)),
        bolts=tuple(_bolt(row) for row in read_records("iso898_1_proof_loads", folder)),
        threads=tuple(_thread(row) for row in read_records("iso261_threads", folder)),
        inch_threads=tuple(_inch_thread(row) for row in read_records("asme_inch_screws", folder)),
        inch_holes=tuple(_inch_hole(row) for row in read_records("asme_inch_screws", folder)),
    )


def _ordered(row: CsvRecord, low: int, high: int, low_name: str, high_name: str) -> None:
    if low > high:
        raise row.fault(high_name, f"is below {low_name}")


def _deviation(row: CsvRecord) -> Deviation:
    found = Deviation(
        row.text("kind"), row.text("cls"), row.nm("over_mm"), row.nm("incl_mm"),
        row.um("upper_um"), row.um("lower_um"), row.origin(),
    )  # fmt: skip
    _ordered(row, found.over_nm, found.incl_nm, "over_mm", "incl_mm")
    _ordered(row, found.lower_nm, found.upper_nm, "lower_um", "upper_um")
    return found


def _ring_deviation(row: CsvRecord) -> RingDeviation:
    found = RingDeviation(
        row.text("ring"), row.text("quantity"), row.nm("over_mm"), row.nm("incl_mm"),
        row.um("upper_um"), row.um("lower_um"), row.origin(),
    )  # fmt: skip
    _ordered(row, found.lower_nm, found.upper_nm, "lower_um", "upper_um")
    return found


def _bearing(row: CsvRecord) -> Bearing:
    catalogues = [key for key in ("cat_a", "cat_b", "cat_c", "cat_d") if row.has(f"C_kN_{key}")]
    ratings = tuple((key, row.whole(f"C_kN_{key}", 1000), row.whole(f"C0_kN_{key}", 1000)) for key in catalogues)
    found = Bearing(
        row.text("designation"), row.text("series"), row.nm("d_mm"), row.nm("D_mm"), row.nm("B_mm"),
        row.nm("rs_min_mm"), ratings, row.origin(),
    )  # fmt: skip
    if found.bore_nm >= found.od_nm:
        raise row.fault("d_mm", "the bore is not smaller than the outside diameter")
    for key, dynamic, static in ratings:
        if static >= dynamic:
            raise row.fault(f"C0_kN_{key}", "the static rating is not below the dynamic one; are they swapped?")
    return found


def _both_rings(folder: Path) -> Iterable[RetainingRing]:
    for standard, name in (("DIN 471", "din471_rings"), ("DIN 472", "din472_rings")):
        for row in read_records(name, folder):
            yield _ring(row, standard)


def _ring(row: CsvRecord, standard: str) -> RetainingRing:
    found = RetainingRing(
        standard, row.nm("d1_mm"), row.nm("ring_thickness_s_mm"), row.nm("s_tol_lower"), row.nm("groove_dia_d2_mm"),
        row.nm("d2_tol_upper"), row.nm("d2_tol_lower"), row.nm("groove_width_m_H13_mm"),
        row.nm("edge_margin_n_min_mm"), row.whole("FN_kN", 1000), row.origin(),
    )  # fmt: skip
    if found.thickness_nm >= found.groove_width_nm:
        raise row.fault("ring_thickness_s_mm", "the ring is thicker than its groove is wide")
    depth = row.nm("groove_depth_t_mm")
    if abs(found.groove_nm - found.size_nm) != 2 * depth:
        raise row.fault("groove_dia_d2_mm", "differs from the size by something else than twice the groove depth")
    return found


def _hole(row: CsvRecord) -> ClearanceHole:
    fine, medium, coarse = row.nm("fine_H12_mm"), row.nm("medium_H13_mm"), row.nm("coarse_H14_mm")
    if not fine < medium < coarse:
        raise row.fault("medium_H13_mm", "expected fine < medium < coarse")
    return ClearanceHole(row.text("thread"), fine, medium, coarse, row.origin())


def _thread(row: CsvRecord) -> Thread:
    fine = tuple(
        CsvRecord(row.file, row.line, {"pitch": text}).nm("pitch") for text in row.text("fine_pitches_mm").split()
    )
    found = Thread(
        row.text("thread"), row.nm("diameter_mm"), row.nm("coarse_pitch_mm"), fine, row.nm("head_diameter_mm"),
        row.nm("head_height_mm"), row.nm("counterbore_mm"), row.origin(),
    )  # fmt: skip
    if not max(fine) < found.coarse_nm < found.diameter_nm < found.head_diameter_nm < found.counterbore_nm:
        raise row.fault("fine_pitches_mm", "expected fine pitches < coarse pitch < diameter < head < counterbore")
    return found


def _inch_thread(row: CsvRecord) -> Thread:
    """An inch screw: coarse is UNC, the one fine pitch UNF; pitches to the nearest nanometre."""
    coarse, fine = (round(Fraction(NM_PER_INCH, row.whole(column))) for column in ("unc_per_inch", "unf_per_inch"))
    found = Thread(
        row.text("thread"), _inches(row, "thread"), coarse, (fine,), _inches(row, "head_diameter_in"),
        _inches(row, "head_height_in"), _inches(row, "counterbore_in"), row.origin(),
    )  # fmt: skip
    if not fine < coarse < found.diameter_nm < found.head_diameter_nm < found.counterbore_nm:
        raise row.fault("unf_per_inch", "expected fine pitch < coarse pitch < diameter < head < counterbore")
    return found


def _inch_hole(row: CsvRecord) -> ClearanceHole:
    close, normal, loose = (_inches(row, column) for column in ("close_in", "normal_in", "loose_in"))
    if not _inches(row, "thread") < close < normal < loose:
        raise row.fault("normal_in", "expected screw < close < normal < loose")
    return ClearanceHole(row.text("thread"), close, normal, loose, row.origin())


def _inches(row: CsvRecord, column: str) -> int:
    """A fraction of an inch as nanometres, to the nearest."""
    try:
        return round(Fraction(row.text(column)) * NM_PER_INCH)
    except (ValueError, ZeroDivisionError):
        raise row.fault(column, f"expected inches such as 13/32, found {row.text(column)!r}") from None


def _bolt(row: CsvRecord) -> Bolt:
    thread = row.text("thread")
    try:
        diameter = scaled(thread.removeprefix("M"), NM_PER_MM)
    except NotExact:
        raise row.fault("thread", f"expected M and a number, found {thread!r}") from None
    return Bolt(
        thread, row.text("property_class"), diameter, row.number("As_mm2"), row.whole("Sp_MPa"),
        row.whole("proof_load_N"), row.whole("min_tensile_load_N"), row.origin(),
    )  # fmt: skip

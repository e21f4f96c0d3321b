"""What the page of a face shows: the straightened picture with a check box on every hole, and the rows below it."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot

from markupsafe import Markup, escape

from graph.catalogue.model import Catalogue
from graph.errors import Problem
from graph.fits.model import show_nm
from graph.fits.pattern import Face
from graph.lookups.index import CatalogueIndex
from graph.notes.faces import PhotosRead, known_face, list_face_joints
from graph.notes.form import Choice
from graph.photo.chosen import BORE, ROLES, place_words
from graph.photo.hand import ANGLE, Solved, words_of
from graph.photo.model import PhotoFound
from graph.photo.typed import ANGLE_U_DEG

TYPED = (
    "across", "along", "tool", "under", "moved", "kept", "holes", "entries", "uncertainty", "clockwise", "part",
    "joint", "seen_from", "datum", "by_bolts", "level", "author", "text", "job", "role", "size", "key",
)  # fmt: skip
ABOUT = ("part", "joint", "seen_from", "datum", "by_bolts", "level", "author", "text", "job", "role", "size")
OF_HOLES = ("role.", "size.", "at.", "take.")  # fields of each hole begin so
SAME_MM = 4.0  # a hole that is read again lies no further off; two holes lie further apart
WIDE, BOX_WIDE, BOX_HIGH = 360, 46, 26  # units: about a point each on a phone of 390
BESIDE_MM = 20.0


@dataclass(frozen=True, slots=True)
class HoleRow:
    """A hole on the page: its `name`, `place` and `across` in words with how surely, `doubts` and `remarks`, whether it
    is `ticked`, what was typed of it (`role`, `size`), and `at`: where it lies, by which it is known again."""

    name: str
    place: str
    across: str
    doubts: tuple[str, ...]
    remarks: tuple[str, ...]
    ticked: bool
    role: str
    size: str
    at: str


@dataclass(frozen=True, slots=True)
class FacePage:
    """The page. `typed`: every field as filled in; `carried`: what was typed of the note and the holes, by field;
    `by_hand`: the one for readings; `papers`: of the sheet; `angle_within`: how many degrees an angle may be off.

    `rows`: the holes, once there are any; `picture`: the face straightened, with a box on each; `seen`: a line for each
    photo; `notes`: what to know; `checks`: each entry against the answer; `joints`, `roles`: to choose from;
    `part_choices`: which parts the words may mean; `known`: the face that counts now; `problems`; `saved`: the note
    that was written, with `saved_part` and `saved_joint`.
    """

    typed: Mapping[str, str]
    by_hand: bool
    joints: tuple[Choice, ...]
    roles: tuple[Choice, ...]
    carried: Mapping[str, str]
    papers: tuple[str, ...] = ("A4", "Letter")
    angle_within: str = f"{ANGLE_U_DEG:g}"
    rows: tuple[HoleRow, ...] = ()
    picture: str = ""
    seen: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    part_choices: tuple[Choice, ...] = ()
    known: str = ""
    problems: tuple[Problem, ...] = ()
    saved: str = ""
    saved_part: str = ""
    saved_joint: str = ""


def empty_page(index: CatalogueIndex, typed: Mapping[str, str], *, by_hand: bool) -> FacePage:
    """The page before anything was read."""
    known: Catalogue = index.catalogue
    joints = tuple(Choice(name, known.joint_kinds[name].label) for name in list_face_joints(index))
    roles = tuple(Choice(name, words) for name, words in ROLES.items())
    values = {"tool": "calliper"} | {name: typed[name] for name in TYPED if name in typed}
    filled = {name: values.get(name, "") for name in TYPED}
    carried = {name: said for name, said in typed.items() if said and (name in ABOUT or name.startswith(OF_HOLES))}
    return FacePage(filled, by_hand, joints, roles, carried, known=_known(index, filled))


def _known(index: CatalogueIndex, typed: Mapping[str, str]) -> str:
    """That a face of the part is known already, in words."""
    if typed["part"] not in index.catalogue.parts or typed["joint"] not in index.catalogue.joint_kinds:
        return ""
    face = known_face(index, typed["part"], typed["joint"])
    return "" if face is None else f"{_about(face)}; the newest note counts"


def _about(face: Face) -> str:
    return f"A face of {face.label} is known there: {len(face.holes)} holes within {show_nm(face.uncertainty_nm)}"


def photo_rows(read: PhotosRead, typed: Mapping[str, str], ticked: frozenset[str] | None) -> tuple[HoleRow, ...]:
    """The holes off photos. `ticked`: those chosen; None before anybody chose: those that nothing speaks against."""
    several = len(read.photos) > 1
    return tuple(
        HoleRow(
            name=str(hole.number),
            place=f"{place_words(hole.x_mm, hole.y_mm)}, within {hole.u_mm:.2f} mm"
            + (f"; in {seen} of {len(read.photos)} photos" if several else ""),
            across=f"{hole.diameter_mm:.2f} mm across, within {hole.diameter_u_mm:.2f} mm",
            doubts=hole.doubts, remarks=hole.remarks,
            ticked=hole.sure if ticked is None else str(hole.number) in ticked,
            role=typed.get(f"role.{hole.number}", ""), size=typed.get(f"size.{hole.number}", ""),
            at=f"{hole.x_mm:.1f} {hole.y_mm:.1f}",
        )
        for hole, seen in zip(read.combined.holes, read.combined.seen, strict=True)
    )  # fmt: skip


def known_again(
    read: PhotosRead, typed: Mapping[str, str], ticked: frozenset[str]
) -> tuple[dict[str, str], frozenset[str] | None, bool]:
    """What was said of holes, at the numbers that they have now (a further photo numbers them anew); which are ticked,
    None before any was shown; and whether they are all the same ones. A hole is known again by its place."""
    shown = {name: place for name in names_shown(typed) if (place := _place(typed[f"at.{name}"]))}
    if not shown:
        return dict(typed), None, True
    now: dict[str, str] = {}
    for hole in read.combined.holes:
        far = {name: hypot(hole.x_mm - x, hole.y_mm - y) for name, (x, y) in shown.items() if name not in now}
        if far and far[nearest := min(far, key=far.__getitem__)] < SAME_MM:
            now[nearest] = str(hole.number)
    fresh = {name: said for name, said in typed.items() if not name.startswith(OF_HOLES)}
    for old, new in now.items():
        fresh |= {f"{field}{new}": typed.get(f"{field}{old}", "") for field in ("role.", "size.")}
    level = [now.get(name.strip(), "") for name in typed["level"].replace(";", ",").split(",")]
    fresh["level"] = ", ".join(level) if all(level) else ""
    added = {str(hole.number) for hole in read.combined.holes if hole.sure} - set(now.values())
    kept = frozenset(now[name] for name in ticked if name in now)
    return fresh, kept | added, len(shown) == len(now) == len(read.combined.holes)


def names_shown(typed: Mapping[str, str]) -> tuple[str, ...]:
    """The names of the holes that the form showed."""
    return tuple(name.removeprefix("at.") for name in typed if name.startswith("at."))


def _place(text: str) -> tuple[float, float] | None:
    """A place as a form carries it; None for what is none."""
    try:
        x, y = (float(one) for one in text.split())
    except ValueError:
        return None
    return x, y


def hand_rows(solved: Solved, typed: Mapping[str, str], ticked: frozenset[str] | None) -> tuple[HoleRow, ...]:
    """The holes that were solved by hand: ticked before anybody chose, as are those that the form did not show."""
    shown = names_shown(typed)
    return tuple(
        HoleRow(
            name=hole.name,
            place=f"{place_words(hole.x_mm, hole.y_mm)}, within {hole.u_mm:.2f} mm",
            across=f"{hole.diameter_mm:.2f} mm across" if hole.diameter_mm else "diameter not said",
            doubts=(),
            remarks=(),
            ticked=ticked is None or hole.name in ticked or (bool(shown) and hole.name not in shown),
            role=typed.get(f"role.{hole.name}", ""),
            size=typed.get(f"size.{hole.name}", ""),
            at="shown",
        )
        for hole in solved.holes
    )


def photo_lines(photos: Sequence[PhotoFound]) -> tuple[str, ...]:
    """A line for each photo: how well the sheet was seen."""
    return tuple(
        f"Photo {number}: {one.corners} of {one.corners_of} corners of the sheet, {one.residual_mm:.3f} mm off on"
        f" average, edges smeared over {2 * one.blur_mm:.2f} mm, camera {one.tilt_deg:.0f} degrees from square"
        for number, one in enumerate(photos, start=1)
    )


def check_lines(solved: Solved) -> tuple[str, ...]:
    """Each entry against the answer, the worst first."""
    order = sorted(solved.residuals, key=lambda one: (not one.odd, -abs(one.off)))
    return tuple(
        f"{words_of(one.entry)}: answer {one.off:+.2f} {'degrees' if one.entry.kind == ANGLE else 'mm'}"
        + (", checked by no other" if one.checked <= 0.02 else "")
        for one in order
    )


def photo_picture(read: PhotosRead, rows: Sequence[HoleRow]) -> Markup:
    """The first photo's face straightened, as SVG, with each hole's circle and its check box."""
    first, holes = read.photos[0], read.combined.holes
    left, low, right, top = first.view_mm
    view = _View(min([left, *(hole.x_mm - BESIDE_MM for hole in holes)]),
                 max([top, *(hole.y_mm + BESIDE_MM for hole in holes)]),
                 max([right, *(hole.x_mm + BESIDE_MM for hole in holes)]),
                 min([low, *(hole.y_mm - BESIDE_MM for hole in holes)]))  # fmt: skip
    x, y = view.at(left, top)
    data = base64.b64encode(first.view).decode()
    size = f'width="{(right - left) * view.scale:.1f}" height="{(top - low) * view.scale:.1f}"'
    image = f'<image href="data:image/jpeg;base64,{data}" x="{x:.1f}" y="{y:.1f}" {size} preserveAspectRatio="none"/>'
    rings = [view.ring(hole.x_mm, hole.y_mm, hole.diameter_mm, row) for hole, row in zip(holes, rows, strict=True)]
    return view.svg([image, *rings])


def hand_picture(solved: Solved, rows: Sequence[HoleRow]) -> Markup:
    """The solved pattern as SVG."""
    reach = max([40.0, *(max(abs(hole.x_mm), abs(hole.y_mm)) for hole in solved.holes)]) + 2 * BESIDE_MM
    view = _View(-reach, reach, reach, -reach)
    x, y = view.at(0.0, 0.0)
    axis = [f'<path class="axis" d="M{x - 8:.1f} {y:.1f}h16M{x:.1f} {y - 8:.1f}v16"/>'] if solved.has_axis else []
    rings = [
        view.ring(hole.x_mm, hole.y_mm, hole.diameter_mm or 8.0, row)
        for hole, row in zip(solved.holes, rows, strict=True)
    ]
    return view.svg([*axis, *rings])


@dataclass(frozen=True, slots=True)
class _View:
    """What of the face is drawn, in mm: always as many units wide, so that boxes are as large as fingers on a phone."""

    left: float
    top: float
    right: float
    low: float

    @property
    def scale(self) -> float:
        """Units a millimetre."""
        return WIDE / (self.right - self.left)

    def at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """A place of the face in units, y down."""
        return (x_mm - self.left) * self.scale, (self.top - y_mm) * self.scale

    def svg(self, body: Sequence[str]) -> Markup:
        """The drawing."""
        high = (self.top - self.low) * self.scale
        return Markup(
            f'<svg class="face" viewBox="0 0 {WIDE} {high:.1f}" role="group"'
            f' aria-label="The face with its holes, a box on each">{"".join(body)}</svg>'
        )

    def ring(self, x_mm: float, y_mm: float, across_mm: float, row: HoleRow) -> str:
        """A hole's circle, and its check box beside it, kept within the drawing."""
        x, y = self.at(x_mm, y_mm)
        radius = across_mm / 2 * self.scale
        name, tick = escape(row.name), " checked" if row.ticked else ""
        at_x = min(x + 0.7 * radius, WIDE - BOX_WIDE)
        at_y = max(0.0, y - 0.7 * radius - BOX_HIGH)
        return (
            f'<circle class="{"doubtful" if row.doubts else "sure"}" cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}"/>'
            f'<foreignObject x="{at_x:.1f}" y="{at_y:.1f}" width="{BOX_WIDE}" height="{BOX_HIGH}">'
            f'<label class="on-face" for="take-{name}"><input type="checkbox" id="take-{name}" name="take.{name}"'
            f' value="yes"{tick}>{name}<span class="unseen"> belongs to the pattern</span></label></foreignObject>'
        )


def choices_of(rows: Sequence[HoleRow], typed: Mapping[str, str]) -> tuple[str, ...]:
    """The ticked holes as `HOLE = ROLE SIZE`: what stands at the hole, else what is said of all."""
    made = []
    for row in rows:
        if row.ticked:
            role = row.role or typed.get("role", "")
            size = row.size or (typed.get("size", "") if role == typed.get("role", "") and role != BORE else "")
            made.append(f"{row.name} = {role or 'unsaid'} {size}".strip())
    return tuple(made)

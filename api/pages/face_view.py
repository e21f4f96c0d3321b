"""What the page of a face shows: the straightened picture with a check box on every hole, and the rows below it."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from graph.catalogue.model import Catalogue
from graph.errors import Problem
from graph.fits.model import show_nm
from graph.fits.pattern import Face
from graph.lookups.index import CatalogueIndex
from graph.notes.faces import Read, known_face, list_face_joints
from graph.notes.form import Choice
from graph.photo.by_hand import ANGLE, Solved, words_of
from graph.photo.chosen import BORE, ROLES
from graph.photo.model import PhotoFound

TYPED = (
    "across", "along", "tool", "under", "moved", "kept", "holes", "entries", "uncertainty", "clockwise", "part",
    "joint", "seen_from", "datum", "by_bolts", "level", "author", "text", "job", "role", "size",
)  # fmt: skip
BOX_MM = 24.0  # of a check box on the picture


@dataclass(frozen=True, slots=True)
class HoleRow:
    """A hole on the page: its `name`, `place` and `across` in words with how surely, `doubts` and `remarks`, whether it
    is `ticked`, and what was typed of it (`role`, `size`)."""

    name: str
    place: str
    across: str
    doubts: tuple[str, ...]
    remarks: tuple[str, ...]
    ticked: bool
    role: str
    size: str


@dataclass(frozen=True, slots=True)
class FacePage:
    """The page. `typed`: every field as filled in; `by_hand`: the one for readings; `papers`: of the sheet.

    `rows`: the holes, once there are any; `picture`: the face straightened, with a box on each; `seen`: a line for each
    photo; `notes`: what to know; `checks`: each entry against the answer; `joints`, `roles`: to choose from;
    `part_choices`: which parts the words may mean; `known`: the face that counts now; `problems`; `saved`: the note
    that was written, with `saved_part` and `saved_joint`.
    """

    typed: Mapping[str, str]
    by_hand: bool
    joints: tuple[Choice, ...]
    roles: tuple[Choice, ...]
    papers: tuple[str, ...] = ("A4", "Letter")
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
    return FacePage(filled, by_hand, joints, roles, known=_known(index, filled))


def _known(index: CatalogueIndex, typed: Mapping[str, str]) -> str:
    """That a face of the part is known already, in words."""
    if typed["part"] not in index.catalogue.parts or typed["joint"] not in index.catalogue.joint_kinds:
        return ""
    face = known_face(index, typed["part"], typed["joint"])
    return "" if face is None else f"{_about(face)}; the newest note counts"


def _about(face: Face) -> str:
    return f"A face of {face.label} is known there: {len(face.holes)} holes within {show_nm(face.uncertainty_nm)}"


def photo_rows(read: Read, typed: Mapping[str, str], ticked: frozenset[str] | None) -> tuple[HoleRow, ...]:
    """The holes off photos. `ticked`: those chosen; None before anybody chose: those that nothing speaks against."""
    several = len(read.photos) > 1
    return tuple(
        HoleRow(
            name=str(hole.number),
            place=f"{hole.x_mm:.2f} mm right, {hole.y_mm:.2f} mm up, within {hole.u_mm:.2f} mm"
            + (f"; in {seen} of {len(read.photos)} photos" if several else ""),
            across=f"{hole.diameter_mm:.2f} mm across, within {hole.diameter_u_mm:.2f} mm",
            doubts=hole.doubts, remarks=hole.remarks,
            ticked=hole.sure if ticked is None else str(hole.number) in ticked,
            role=typed.get(f"role.{hole.number}", ""), size=typed.get(f"size.{hole.number}", ""),
        )
        for hole, seen in zip(read.combined.holes, read.combined.seen, strict=True)
    )  # fmt: skip


def hand_rows(solved: Solved, typed: Mapping[str, str], ticked: frozenset[str] | None) -> tuple[HoleRow, ...]:
    """The holes that were solved by hand: all are ticked before anybody chose."""
    return tuple(
        HoleRow(
            name=hole.name, place=f"{hole.x_mm:.2f} mm right, {hole.y_mm:.2f} mm up, within {hole.u_mm:.2f} mm",
            across=f"{hole.diameter_mm:.2f} mm across" if hole.diameter_mm else "diameter not said", doubts=(),
            remarks=(), ticked=ticked is None or hole.name in ticked, role=typed.get(f"role.{hole.name}", ""),
            size=typed.get(f"size.{hole.name}", ""),
        )
        for hole in solved.holes
    )  # fmt: skip


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


def photo_picture(read: Read, rows: Sequence[HoleRow]) -> Markup:
    """The first photo's face straightened, as SVG in mm, with each hole's circle and its check box."""
    first = read.photos[0]
    left, low, right, top = first.view_mm
    holes = read.combined.holes
    left, right = min([left, *(h.x_mm - BOX_MM for h in holes)]), max([right, *(h.x_mm + BOX_MM for h in holes)])
    low, top = min([low, *(h.y_mm - BOX_MM for h in holes)]), max([top, *(h.y_mm + BOX_MM for h in holes)])
    x0, y0, x1, y1 = first.view_mm
    data = base64.b64encode(first.view).decode()
    body = [
        f'<image href="data:image/jpeg;base64,{data}" x="{x0:.1f}" y="{-y1:.1f}" width="{x1 - x0:.1f}"'
        f' height="{y1 - y0:.1f}" preserveAspectRatio="none"/>'
    ]
    for hole, row in zip(holes, rows, strict=True):
        body.append(_ring(hole.x_mm, hole.y_mm, hole.diameter_mm, row))
    return _svg(left, low, right, top, body)


def hand_picture(solved: Solved, rows: Sequence[HoleRow]) -> Markup:
    """The solved pattern as SVG in mm."""
    reach = max([40.0, *(max(abs(hole.x_mm), abs(hole.y_mm)) for hole in solved.holes)]) + 1.5 * BOX_MM
    body = []
    if solved.has_axis:
        body.append('<path class="axis" d="M-10 0H10M0 -10V10"/>')
    for hole, row in zip(solved.holes, rows, strict=True):
        body.append(_ring(hole.x_mm, hole.y_mm, hole.diameter_mm or 8.0, row))
    return _svg(-reach, -reach, reach, reach, body)


def _svg(left: float, low: float, right: float, top: float, body: Sequence[str]) -> Markup:
    box = f"{left:.1f} {-top:.1f} {right - left:.1f} {top - low:.1f}"
    return Markup(
        f'<svg class="face" viewBox="{box}" role="group" aria-label="The face with its holes, a box on each">'
        f"{''.join(body)}</svg>"
    )


def _ring(x_mm: float, y_mm: float, across_mm: float, row: HoleRow) -> str:
    from markupsafe import escape

    kind = "doubtful" if row.doubts else "sure"
    name, tick = escape(row.name), " checked" if row.ticked else ""
    at_x, at_y = x_mm + across_mm / 2 * 0.7, -y_mm - across_mm / 2 * 0.7 - BOX_MM
    return (
        f'<circle class="{kind}" cx="{x_mm:.2f}" cy="{-y_mm:.2f}" r="{across_mm / 2:.2f}"/>'
        f'<foreignObject x="{at_x:.1f}" y="{at_y:.1f}" width="{2 * BOX_MM:.0f}" height="{BOX_MM:.0f}">'
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

"""`/bench`: what can be checked; `/bench/check/...`: a check on typed dimensions; `/bench/faces`: two faces overlaid.

Every form is an address: it can be sent, kept and tried again. Dimensions take mm, inch or thou; a bare number takes
the form's unit, a length without "+/-" the form's give or take, a place without a datum the face that is usual.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

from fastapi import Query, Request, Response
from markupsafe import Markup

from api.addresses import ReadNames, reads, refuse_unread
from api.pages.base import page, page_router
from api.pages.bench_readings import UNITS
from api.pages.extra import notebook_or_none
from api.pages.measured_view import measured_of
from api.pages.verdict_view import VerdictView, verdict_of
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.plates import LEAN_DEG
from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.length_sheet import BELL_FACE, BLOCK_FACE, DATUMS, ON_BLOCK
from graph.fits.model import CheckResult
from graph.fits.overlay import OverlayRow, list_rows, overlay_svg
from graph.fits.pattern import Face, as_seen_from
from graph.fits.runout import DialReadings, list_cures, offset_of
from graph.fits.runout_svg import runout_svg
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice
from graph.notes.readings import with_unit
from graph.what_if.inputs import ANGLE, LENGTH, READING, SIZE, WORD, Field, WhatIf, read_fields, show_fields
from graph.what_if.kinds import WHAT_IFS, check_what_if, get_what_if, title_of

if TYPE_CHECKING:
    from graph.fits.pattern_match import Clocking

router = page_router()
Short = Annotated[str, Query(max_length=200)]
DIAL, CHAINS = "register", "length-chains"
USUAL_UNIT = {DIAL: "thou"}
USUAL_SPREAD = "0.05 mm"  # straight-edge and depth micrometer (common practice)
SAME_FACE = "the same face"
EXAMPLES: Mapping[str, Mapping[str, str]] = {  # invented figures, to see the form filled in
    DIAL: {"h12": "0", "h3": "9", "h6": "14", "h9": "5", "dowel_1": "7", "dowel_2": "14", "unit": "thou"},
    CHAINS: {
        "crank_flange": "14.0", "bore_depth": "45", "bearing_inset": "6", "bearing_width": "16",
        "friction_face": "24.0", "bolt_heads": "17.0", "fingers": "48", "hub_front": "-3.9", "hub_length": "28",
        "ring_front": "7", "ring_width": "12", "bell_depth": "6.496 in", "stick_out": "7.480 in", "nose_length": "22",
        "spline_start": "26", "spline_end": "96", "bearing_height": "90", "pinion_at_rest": "21.5",
        "pinion_out": "1.5", "plate": "15", "pad_milling_limit": "6", "unit": "mm",
    },
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class BenchView:
    """What the bench offers: checks as (address, title, about); joints to choose from; `keeps_notes`: a face that is
    photographed can be kept."""

    checks: tuple[tuple[str, str, str], ...]
    joints: tuple[Choice, ...]
    keeps_notes: bool


@dataclass(frozen=True, slots=True)
class FieldView:
    """A field of a check: as typed, in mm and inch where it is a length, and what is wrong with it."""

    name: str
    label: str
    about: str
    typed: str
    both: str
    fault: str
    needed: bool
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckView:
    """A check with its form. `verdict`: None until something is typed, or while it cannot be read; `drawing`: SVG."""

    kind: str
    title: str
    about: str
    unit: str
    units: tuple[str, ...]
    spread: str
    takes_spread: bool
    fields: tuple[FieldView, ...]
    verdict: VerdictView | None
    drawing: Markup
    problems: tuple[Problem, ...]
    example: str


@dataclass(frozen=True, slots=True)
class FacesView:
    """Two bolt faces over each other. `parts`: those with a measured face at the joint; `turn`: how far it may turn."""

    joint: str
    joints: tuple[Choice, ...]
    parts: tuple[Choice, ...]
    a: str
    b: str
    turn: str
    verdict: VerdictView | None
    drawing: Markup
    rows: tuple[OverlayRow, ...]
    others: tuple[str, ...]
    problems: tuple[Problem, ...]


@needs("read")
@router.get("/bench")
def show_bench(request: Request, workshop: UsesWorkshop) -> Response:
    """What can be checked."""
    known = workshop.index.catalogue.joint_kinds
    joints = sorted((Choice(name, known[name].label) for name in JOINT_CHECKS if name in known), key=lambda c: c.label)
    checks = tuple((f"/bench/check/{kind}", title_of(kind), what.about) for kind, what in WHAT_IFS.items())
    view = BenchView(checks, tuple(joints), notebook_or_none(request) is not None)
    return page(request, "bench.html", view, title="Bench")


@reads(ReadNames(whatever=True))
@needs("read")
@router.get("/bench/check/{kind}")
def show_check(request: Request, kind: str, unit: Short = "", give: Short = "") -> Response:
    """A check on typed dimensions; with `example=1` filled in with invented figures."""
    fields = frozenset((*get_what_if(kind).fields, "example", "unit", "give"))
    refuse_unread(ReadNames(fields), request.query_params.multi_items())
    typed = dict(request.query_params)
    if typed.get("example") and kind in EXAMPLES:
        typed = dict(EXAMPLES[kind])
    view = check_view(kind, typed, typed.get("unit") or unit, give)
    return page(request, "bench_check.html", view, title=view.title)


def check_view(kind: str, typed: Mapping[str, str], unit: str = "", spread: str = "") -> CheckView:
    """The form with its verdict. Raises NotFound for the kind."""
    what = get_what_if(kind)
    unit = unit if unit in UNITS else USUAL_UNIT.get(kind, "mm")
    spread = spread.strip()[:40] or USUAL_SPREAD
    inputs = {name: written(kind, name, field, typed, unit, spread) for name, field in what.fields.items()}
    inputs = {name: text for name, text in inputs.items() if text}
    result, problems = _result(kind, inputs) if inputs else (None, ())
    faults: dict[str, str] = {}
    for problem in problems:
        field_name = problem.path.partition(".")[0] if problem.path.partition(".")[0] in what.fields else problem.path
        faults[field_name] = "; ".join(filter(None, (faults.get(field_name, ""), problem.message)))
    fields = tuple(
        FieldView(
            name, name.replace("_", " "), field.about, typed.get(name, "")[:200], _read(name, field, inputs),
            faults.get(name, ""), field.needed, field.words,
        )
        for name, field in what.fields.items()
    )  # fmt: skip
    example = f"/bench/check/{kind}?example=1" if kind in EXAMPLES else ""
    return CheckView(
        kind, title_of(kind), what.about, unit, UNITS, spread,
        any(field.form == LENGTH for field in what.fields.values()), fields,
        verdict_of(result) if result else None, _drawing(kind, what, inputs) if result else Markup(),
        tuple(problem for problem in problems if problem.path.partition(".")[0] not in what.fields), example,
    )  # fmt: skip


def written(kind: str, name: str, field: Field, typed: Mapping[str, str], unit: str, spread: str) -> str:
    """A field as the check takes it: with its unit, its give or take, and the face that it is taken from."""
    text = typed.get(name, "").strip()[:200]
    if not text or not (field.unit or field.form in (LENGTH, SIZE, READING, ANGLE)):
        return text
    if field.unit or field.form == ANGLE:
        return with_unit(text, field.unit or "deg")
    if field.form == SIZE or (field.form == READING and not re.search(r"±|\+/?-", text)):
        return with_unit(text, unit)
    head, sign, rest = text.replace("±", "+/-").partition("+/-")
    amount, _, datum = (rest if sign else spread).partition(" from ")
    if not sign:
        head, _, datum = head.partition(" from ")
    datum = datum.removeprefix("the ").strip() or _usual_datum(kind, name, typed)
    return f"{with_unit(head, unit)} +/- {with_unit(amount, unit)} from {datum}"


def _usual_datum(kind: str, name: str, typed: Mapping[str, str]) -> str:
    if kind != CHAINS:
        return SAME_FACE
    if name.startswith("pinion"):
        return BLOCK_FACE if typed.get("starter_on") == ON_BLOCK else BELL_FACE
    return DATUMS.get(name, SAME_FACE)


def _read(name: str, field: Field, inputs: Mapping[str, str]) -> str:
    """How a field was read; empty for words, and for what cannot be read."""
    if field.form == WORD or name not in inputs:
        return ""
    alone = WhatIf("", {name: field}, dict)
    try:
        return show_fields(alone, read_fields(alone, {name: inputs[name]})).get(name, "")
    except InvalidInput:  # told at the field by the check itself
        return ""


def _result(kind: str, inputs: Mapping[str, str]) -> tuple[CheckResult | None, tuple[Problem, ...]]:
    try:
        return check_what_if(kind, inputs), ()
    except InvalidInput as error:
        return None, error.problems
    except NotFound as error:
        return None, (Problem("", str(error)),)


def _drawing(kind: str, what: WhatIf, inputs: Mapping[str, str]) -> Markup:
    """The drawing of dial readings that close; nothing else has one here."""
    if kind != DIAL:
        return Markup()
    values = read_fields(what, inputs)
    readings = DialReadings(
        **{f"{name}_nm": values[name] for name in ("h12", "h3", "h6", "h9", "back_at_h12")},
        bearing_clearance_nm=values["bearing_clearance"] or 0,
    )
    try:
        offset = offset_of(readings)
    except InvalidInput:  # they do not close: the verdict says so, and there is no offset to draw
        return Markup()
    steps = [values[name] for name in ("dowel_1", "dowel_2", "dowel_3") if values[name]]
    cures = list_cures(offset, steps)
    return Markup(runout_svg(readings, offset, cures[0] if cures else None))


@needs("read")
@router.get("/bench/faces")
def show_faces(
    request: Request, workshop: UsesWorkshop, joint: Short = "engine-face", a: Short = "", b: Short = "",
    turn: Short = "",
) -> Response:  # fmt: skip
    """Face b laid over face a at its best clocking."""
    view = faces_view(workshop.index, joint, a, b, turn)
    return page(request, "bench_faces.html", view, title="Bolt faces over each other")


def faces_view(index: CatalogueIndex, joint: str, a: str, b: str, turn: str) -> FacesView:
    """The page of two faces. `turn`: how far face b may be turned either way, in degrees; empty for a usual lean."""
    known = index.catalogue
    faces = sorted(known.bolt_faces.values(), key=lambda face: face.of)
    joints = tuple(Choice(name, known.joint_kinds[name].label) for name in sorted({face.joint for face in faces}))
    owners = [part for face in faces if face.joint == joint for _, part in index.descent(face.of)]
    parts = tuple(Choice(name, known.parts[name].label) for name in dict.fromkeys(owners))
    base = FacesView(joint, joints, parts, a, b, turn or f"{LEAN_DEG:g}", None, Markup(), (), (), ())
    if not (a and b):
        return base
    try:
        return _laid_over(index, base)
    except InvalidInput as error:
        return FacesView(joint, joints, parts, a, b, base.turn, None, Markup(), (), (), error.problems)


def _laid_over(index: CatalogueIndex, base: FacesView) -> FacesView:
    from graph.fits.pattern_check import ALLOY_LIMITS, check_faces  # scipy takes a while to load; only faces need it

    measured = measured_of(index)
    first, second = (
        measured.face(part, base.joint) if part in index.catalogue.parts else None for part in (base.a, base.b)
    )
    if first is None or second is None:
        missing = base.a if first is None else base.b
        raise InvalidInput([Problem("", f"nobody has measured a face of {missing!r} at this joint")])
    lean = _degrees(base.turn)
    fit = check_faces(first, second, from_deg=-lean, to_deg=lean, limits=ALLOY_LIMITS)
    clocking = fit.clocking or _apart(first, second)
    return FacesView(
        base.joint, base.joints, base.parts, base.a, base.b, base.turn, verdict_of(fit.result),
        Markup(overlay_svg(replace(first, label="face one"), replace(second, label="face two"), clocking)),
        list_rows(first, second, clocking),
        tuple(f"{other.angle_deg:.2f} degrees" for other in fit.others), (),
    )  # fmt: skip


def _apart(first: Face, second: Face) -> Clocking:
    """The two faces as they stand, for the drawing, where no hole comes near another."""
    from graph.fits.pattern_match import Clocking

    turned = as_seen_from(second, first.seen_from)
    uncertainty_nm = first.uncertainty_nm + second.uncertainty_nm
    return Clocking(0.0, (), (), first.holes, turned.holes, 0, uncertainty_nm)


def _degrees(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise InvalidInput([Problem("turn", f"expected degrees such as 2 or 180, found {text[:40]!r}")]) from None
    if not 0 < value <= 180:
        raise InvalidInput([Problem("turn", f"expected more than 0 and at most 180 degrees, found {text[:40]!r}")])
    return value

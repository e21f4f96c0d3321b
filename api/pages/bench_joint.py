"""`/bench/joint`: two parts at a joint, what is known and what is measured now, and whether they meet.

Readings stand in the address: nothing is kept until somebody says so (`POST /bench/measurements`), then as one note
of all that stands in the fields at that moment, or of nothing while one of them cannot be read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query, Request, Response
from fastapi.responses import RedirectResponse
from markupsafe import Markup

from api.addresses import ReadNames, reads
from api.pages.back import with_back
from api.pages.base import page, page_router
from api.pages.bench_readings import UNITS, BenchMeasured, ReadingRow, list_tools, row_of, typed_of
from api.pages.extra import KeptNotebook, notebook_or_none, writer_of
from api.pages.form_faults import FormFaults
from api.pages.measured_view import measured_of
from api.pages.notes import SentForm
from api.pages.part_view import VERBS
from api.pages.verdict_view import VerdictView, verdict_of
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.catalogue.kinds import list_joints
from graph.catalogue.model import Edge, Measurement, Part
from graph.derive.around import deriver_of
from graph.derive.joints.record import Case, JointCheck
from graph.derive.joints.registry import JOINT_CHECKS
from graph.errors import InvalidInput, Problem
from graph.fits.datums import USUAL_DATUM
from graph.fits.measuring_sketch import measuring_sketch
from graph.ledger.identity import new_id
from graph.ledger.record import Draft
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice, chosen_of, find_part
from graph.notes.readings import EVIDENCE, quantities_of, statements_of
from graph.what_if.kinds import title_of

router = page_router()
Short = Annotated[str, Query(max_length=500)]


@dataclass(frozen=True, slots=True)
class RowView:
    """A row with the tools to choose from, and where its quantity is measured as a drawing (empty: none shows it)."""

    row: ReadingRow
    tools: tuple[str, ...]
    sketch: Markup


@dataclass(frozen=True, slots=True)
class KeptWords:
    """What stands beside the readings when they are written down. `subject`: unit or variant; `text`: own words."""

    subject: str = "unit"
    author: str = ""
    job: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True)
class JointView(FormFaults):
    """The bench at a joint.

    `a`, `b`: as typed; `joint`: its id, empty to measure `a` alone; `title`; `rows`: what to measure; `verdict`: None
    while no joint is chosen or it is one of faces (`faces`) or run-out (`dial`); `noted`: what notes say of the pair;
    `source`: where the limits come from; `tries`: checks of the bench with the same arithmetic, on dimensions alone;
    `words`: to be written down with the readings; `saved`: the note that was just written.
    """

    a: str
    b: str
    joint: str
    title: str
    about: str
    unit: str
    units: tuple[str, ...]
    joints: tuple[Choice, ...]
    choices: dict[str, tuple[Choice, ...]]
    problems: tuple[Problem, ...]
    rows: tuple[RowView, ...]
    verdict: VerdictView | None
    faces: bool
    dial: bool
    noted: tuple[str, ...]
    caution: str
    to_confirm: tuple[str, ...]
    source: str
    tries: tuple[Choice, ...]
    words: KeptWords
    saved: str
    keeps_notes: bool
    parts: tuple[Choice, ...]
    asked: str = ""

    def unread(self) -> tuple[ReadingRow, ...]:
        """The rows whose reading cannot be taken."""
        return tuple(one.row for one in self.rows if one.row.fault)


# A reading, its unit, tool and face, of either part; then what the same form holds when its note is written.
JOINT_NAMES = ReadNames(
    frozenset((
        "a_for", "a_chosen", "b_for", "b_chosen", "subject", "author", "job", "text", "form_token",
    )), starts=("r0.", "r1.", "u0.", "u1.", "t0.", "t1.", "d0.", "d1."),
)  # fmt: skip


@reads(JOINT_NAMES)
@needs("read")
@router.get("/bench/joint")
def bench_joint(
    request: Request, workshop: UsesWorkshop, a: Short = "", b: Short = "", joint: Short = "", unit: Short = "mm",
    saved: Short = "", quantity: Short = "", of: Short = "",
) -> Response:  # fmt: skip
    """The form with its verdict. `quantity`: the one asked for, of the part `of`, whose field gets the focus."""
    view = replace(_view_of(workshop.index, dict(request.query_params)), saved=saved)
    side = 1 if of and of == b and of != a else 0
    view = replace(view, asked=f"{side}.{quantity}" if quantity and not saved else "")
    return _shown(request, view)


def _shown(request: Request, view: JointView, status: int = 200) -> Response:
    shown = replace(view, keeps_notes=notebook_or_none(request) is not None)
    return page(request, "bench_joint.html", shown, title=view.title, status=status, form=True)


def _view_of(index: CatalogueIndex, sent: Mapping[str, str]) -> JointView:
    """What the page shows for the fields of its form, from an address or sent to be kept."""
    values = {name: value for name, value in sent.items() if name[:1] in "rutd" and "." in name}
    problems: list[Problem] = []
    a, b = (
        chosen_of(
            name, sent.get(name, "").strip(), sent.get(f"{name}_for", ""), sent.get(f"{name}_chosen", ""), problems
        )
        for name in ("a", "b")
    )
    unit = sent.get("unit", "")
    view = joint_view(index, a, b, sent.get("joint", ""), unit if unit in UNITS else "mm", values)
    subject = "variant" if sent.get("subject") == "variant" else "unit"
    words = KeptWords(subject, *(sent.get(name, "").strip() for name in ("author", "job", "text")))
    return replace(view, words=words, problems=(*problems, *view.problems))


def joint_view(index: CatalogueIndex, a: str, b: str, joint: str, unit: str, values: Mapping[str, str]) -> JointView:
    """Everything that the page shows, from what stands in its address."""
    problems: list[Problem] = []
    choices: dict[str, tuple[Choice, ...]] = {}
    first = find_part(index, "a", a, problems, choices) if a else None
    second = find_part(index, "b", b, problems, choices) if b else None
    possible = _joints(index, first, second)
    if joint not in JOINT_CHECKS or joint not in index.catalogue.joint_kinds:
        joint = possible[0].id if len(possible) == 1 and first and second else ""
    sides = _sides(index, joint, first, second) if joint else ((first,) if first else ())
    rows = _rows(index, joint, sides, unit, values)
    verdict, fault = _verdict(index, joint, sides, rows) if joint and not _by_face(joint) else (None, None)
    problems += [fault] if fault else []
    known, check = index.catalogue.joint_kinds.get(joint), JOINT_CHECKS.get(joint)
    return JointView(
        a=a, b=b, joint=joint, title=known.label if known else "Measure a part",
        about=known.definition if known else "", unit=unit, units=UNITS, joints=possible, choices=choices,
        problems=tuple(problems), rows=tuple(_row_view(row) for row in rows), verdict=verdict,
        faces=_by_face(joint) and not JOINT_CHECKS[joint].dial, dial=bool(joint) and JOINT_CHECKS[joint].dial,
        noted=_noted(index, joint, first, second), caution=known.caution if known else "",
        to_confirm=check.to_confirm if check else (), source=check.source if check else "",
        tries=_tries(check) if check else (), words=KeptWords(), saved="", keeps_notes=False,
        parts=tuple(Choice(part.id, part.label) for part in sides if part.id in index.catalogue.parts),
    )  # fmt: skip


def _tries(check: JointCheck) -> tuple[Choice, ...]:
    return tuple(Choice(kind, title_of(kind)) for kind in check.what_ifs)


def _row_view(row: ReadingRow) -> RowView:
    quantity, tools = row.quantity, list_tools(row.quantity)
    datum = USUAL_DATUM.get(quantity.id, "") if quantity.form == "position" else ""
    drawn = measuring_sketch(quantity.id, quantity.label, datum=datum, tool=tools[0], prefix=f"where-{row.name}")
    return RowView(row, tools, Markup(drawn))


def _by_face(joint: str) -> bool:
    return bool(joint) and bool(JOINT_CHECKS[joint].faces)


def _joints(index: CatalogueIndex, first: Part | None, second: Part | None) -> tuple[Choice, ...]:
    """The joints that can be checked, those of the parts only where they are chosen."""
    known = index.catalogue.joint_kinds
    names = [name for name in JOINT_CHECKS if name in known]
    if first and second:
        names = [name for name in list_joints(index.catalogue, first.kind, second.kind) if name in JOINT_CHECKS]
    elif one := first or second:
        kinds = index.kinds_of(one.kind)
        names = [name for name in names if any(kinds & _holds(index, name, side) for side in (0, 1))]
    return tuple(sorted((Choice(name, known[name].label) for name in names), key=lambda choice: choice.label))


def _holds(index: CatalogueIndex, joint: str, side: int) -> frozenset[str]:
    position = index.catalogue.position_kinds.get(index.catalogue.joint_kinds[joint].between[side])
    return frozenset(position.part_kinds) if position else frozenset()


def _sides(index: CatalogueIndex, joint: str, first: Part | None, second: Part | None) -> tuple[Part, Part]:
    """The two parts in the joint's order; a stand-in without a name for one that is not chosen."""
    given = [part for part in (first, second) if part]
    placed: list[Part | None] = [None, None]
    for part in given:
        kinds = index.kinds_of(part.kind)
        side = next((n for n in (0, 1) if placed[n] is None and kinds & _holds(index, joint, n)), None)
        placed[side if side is not None else placed.index(None)] = part
    stand_ins = []
    for side in (0, 1):
        kind = min(_holds(index, joint, side), default="part")
        known = index.catalogue.part_kinds.get(kind)
        stand_ins.append(Part(id=f"bench-{side}", label=f"{known.label if known else kind} on the bench", kind=kind))
    return placed[0] or stand_ins[0], placed[1] or stand_ins[1]


def _rows(
    index: CatalogueIndex, joint: str, sides: tuple[Part, ...], unit: str, values: Mapping[str, str]
) -> tuple[ReadingRow, ...]:
    if not joint:
        wanted = [(0, quantity) for part in sides for quantity in quantities_of(index, part)]
    else:
        check = JOINT_CHECKS[joint]
        measured = BenchMeasured(measured_of(index), (), sides)
        case = Case(measured, deriver_of(index).drive, joint, (sides[0].id, sides[1].id))
        needs = dict.fromkeys((*check.needs_of(case), *check.chain_needs))
        known = index.catalogue.quantities
        wanted = [(side, known[name]) for side, name in needs if name in known]
    return tuple(
        row_of(index, side, sides[side], quantity, typed_of(values, side, quantity.id), unit)
        for side, quantity in sorted(wanted, key=lambda pair: pair[0])
    )


def _verdict(
    index: CatalogueIndex, joint: str, sides: tuple[Part, ...], rows: tuple[ReadingRow, ...]
) -> tuple[VerdictView | None, Problem | None]:
    facts = [row.fact for row in rows if row.fact]
    measured = BenchMeasured(measured_of(index), facts, sides)
    try:
        result = JOINT_CHECKS[joint].run(Case(measured, deriver_of(index).drive, joint, (sides[0].id, sides[1].id)))
    except InvalidInput as error:
        return None, Problem("", str(error))
    return verdict_of(result), None


def _noted(index: CatalogueIndex, joint: str, first: Part | None, second: Part | None) -> tuple[str, ...]:
    """What notes and facts say of the two parts at the joint."""
    if not (joint and first and second):
        return ()
    found: list[Edge] = []
    for own in index.lineage(first.id):
        said = {e.id: e for other in index.lineage(second.id) for e in index.edges_between(own, other, joint)}
        found += [said[name] for name in sorted(said)]
    levels = index.catalogue.evidence_levels
    return tuple(
        f"{VERBS[edge.kind]} ({levels[edge.evidence].label if edge.evidence in levels else 'nothing noted'})"
        for edge in found
    )


@needs("note")
@router.post("/bench/measurements")
def keep_readings(request: Request, form: SentForm, notebook: KeptNotebook, workshop: UsesWorkshop) -> Response:
    """Writes the readings down as one note and goes back to the joint, where they count at once.

    While one of them cannot be taken nothing is written, and the page says at its field what is wrong.
    """
    access = writer_of(request, form)
    index, note_id = workshop.index, new_id()
    values = {name: value for name, value in form.items() if isinstance(value, str)}
    view = _view_of(index, values)
    problems = [*view.problems, *_unkept(view, values)]
    facts = [
        replace(one.row.fact, subject=view.words.subject, evidence=EVIDENCE)
        for one in view.rows
        if one.row.fact and one.row.real
    ]
    if not facts and not problems:
        problems.append(Problem("", "there is no reading to keep"))
    words = view.words
    draft = Draft(
        text=words.text or (_words(index, facts) if facts else ""), author=words.author, evidence=EVIDENCE,
        job=words.job, recorded_by=access.name,
        method=", ".join(dict.fromkeys(fact.tool for fact in facts if fact.tool)),
        statements=statements_of(facts, notebook.ledger.base, note_id),
    )  # fmt: skip
    try:
        if problems:
            raise InvalidInput(problems)
        notebook.ledger.append(draft, note_id=note_id)
    except InvalidInput as error:
        return _shown(request, replace(view, problems=error.problems), 422)
    back = {"joint": view.joint, "a": view.a, "b": view.b, "unit": view.unit, "saved": note_id}
    return RedirectResponse(with_back(request, f"/bench/joint?{urlencode(back)}"), status_code=303)


def _unkept(view: JointView, values: Mapping[str, str]) -> Iterator[Problem]:
    """Why what was sent cannot be kept as it is: each field with a value that no reading of the note would hold."""
    rows = {one.row.name: one.row for one in view.rows}
    for name, value in values.items():
        if name[:1] not in "rutd" or "." not in name or not value.strip():
            continue
        row = rows.get(name[1:])
        if row is None:
            yield Problem(name, f"{value[:80]!r} was typed where nothing is measured on this page")
        elif row.fault:
            yield Problem(f"r{row.name}", row.fault) if name[0] == "r" else Problem(name, row.fault)
        elif not row.typed.reading:
            yield Problem(f"r{row.name}", f"{value[:80]!r} stands beside it, but no reading")
        elif not row.real:
            yield Problem("a", f"say which part the reading {value[:80]!r} is of")
    if not view.words.author:
        yield Problem("author", "say who measured: initials or a role will do")


def _words(index: CatalogueIndex, facts: Sequence[Measurement]) -> str:
    known = index.catalogue
    return "; ".join(
        f"{known.quantities[fact.quantity].label} of {known.parts[fact.of].label}: {fact.reading}" for fact in facts
    )

"""`/redrill`: new holes in a flywheel, a flange or a starter's pad, among the old ones.

The form is an address: it can be sent, kept and tried again. Drawings are the API's (`/redrilling/design.dxf`, `.pdf`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import Query, Request, Response
from markupsafe import Markup

from api.pages.base import page, page_router
from api.roles import needs
from api.workshop import UsesWorkshop
from graph.answer.redrill_asking import PAD, TURNING, RedrillAsked, RedrillFound, ask_redrill
from graph.errors import InvalidInput, NotFound, Problem
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice
from graph.plates.model import PlateReason
from graph.plates.redrill import Redrilled
from graph.plates.redrill_drawn import redrill_paper, redrill_svg
from graph.plates.redrill_words import CAUTIONS, new_rows, note_lines, old_rows
from graph.plates.rules import MATERIALS

router = page_router()
Short = Annotated[str, Query(max_length=200)]
FIELDS = ("joint", "drilled", "kept", "turn", "material", "rim", "opening", "thread")
MOST_SHOWN = 200
Rows = tuple[tuple[str, str, str, str, str], ...]


@dataclass(frozen=True, slots=True)
class RedrillView:
    """The page of new holes in a part.

    `typed`: the form as filled in. `joints`, `parts`, `materials`: what to choose from. `problems`: of what was typed;
    `refused`: why it cannot be drilled so; `measure`: what is not known, with what there is (`known`); `title`,
    `notes`, `new`, `old`, `price`, `cautions`, `drawing`, `paper`, `dxf`, `pdf`, `json`: the drilled part, empty where
    it cannot be drawn.
    """

    typed: Mapping[str, str]
    joints: tuple[Choice, ...]
    parts: tuple[Choice, ...]
    materials: tuple[str, ...] = MATERIALS
    problems: tuple[Problem, ...] = ()
    refused: tuple[PlateReason, ...] = ()
    measure: tuple[str, ...] = ()
    known: tuple[str, ...] = ()
    title: str = ""
    notes: tuple[str, ...] = ()
    new: Rows = ()
    old: Rows = ()
    price: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    drawing: Markup = field(default_factory=Markup)
    paper: str = ""
    dxf: str = ""
    pdf: str = ""
    json: str = ""


@needs("read")
@router.get("/redrill")
def show_redrill(
    request: Request, workshop: UsesWorkshop, joint: Short = TURNING[0], drilled: Short = "", kept: Short = "",
    turn: Short = "", material: Short = "steel", rim: Short = "", opening: Short = "", thread: Short = "",
) -> Response:  # fmt: skip
    """A part to be drilled for another."""
    given = locals()
    view = redrill_view(workshop.shop.standing().index, {name: given[name].strip() for name in FIELDS})
    return page(request, "redrill.html", view, title="New holes in a part")


def redrill_view(index: CatalogueIndex, typed: Mapping[str, str]) -> RedrillView:
    """The page for a filled-in form; nothing is drawn until both parts are named."""
    known = index.catalogue
    faced = {face.joint for face in known.bolt_faces.values()} | {*TURNING, PAD}
    joints = tuple(Choice(name, known.joint_kinds[name].label) for name in sorted(faced & set(known.joint_kinds)))
    base = RedrillView(typed, joints, _parts(index, typed["joint"]))
    if not (typed["drilled"] and typed["kept"]):
        return base
    try:
        return _with_answer(base, ask_redrill(index, RedrillAsked(**typed)))
    except InvalidInput as error:
        return replace(base, problems=error.problems)
    except NotFound as error:
        return replace(base, problems=(Problem("", str(error)),))


def _parts(index: CatalogueIndex, joint: str) -> tuple[Choice, ...]:
    """The parts that can stand at the joint, those with a measured face first; of very many the first."""
    known = index.catalogue
    if joint not in known.joint_kinds:
        return ()
    faced = [part for face in known.bolt_faces.values() if face.joint == joint for _, part in index.descent(face.of)]
    places = (known.position_kinds.get(one) for one in known.joint_kinds[joint].between)
    kinds = frozenset(kind for place in places if place for one in place.part_kinds for kind in index.kinds_under(one))
    others = (name for name in index.listing.of_kinds(kinds)[:MOST_SHOWN] if not known.parts[name].abstract)
    return tuple(Choice(name, known.parts[name].label) for name in dict.fromkeys((*sorted(faced), *others)))


def _with_answer(base: RedrillView, answer: RedrillFound) -> RedrillView:
    found = answer.found
    if found is None:
        return replace(base, measure=answer.lacks, known=answer.known)
    if not isinstance(found, Redrilled):
        return replace(base, refused=found.reasons)
    stem, query = "/redrilling/design", urlencode({name: text for name, text in base.typed.items() if text})
    return replace(
        base, title=found.title, notes=note_lines(found), new=new_rows(found), old=old_rows(found),
        measure=found.measure, price=answer.price, cautions=CAUTIONS, drawing=Markup(redrill_svg(found)),
        paper=redrill_paper(found), dxf=f"{stem}.dxf?{query}", pdf=f"{stem}.pdf?{query}", json=f"{stem}.json?{query}",
    )  # fmt: skip

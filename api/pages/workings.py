"""The workings behind a route's joints: what was computed of the very parts that it joins, line by line, and drawn."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from markupsafe import Markup

from graph.answer.made_asking import MadeAsked, ask_made, named_made
from graph.answer.model.route import AnsweredRoute
from graph.derive.around import deriver_of, with_derived
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.overlay import OverlayIndex
from graph.derive.plates import LEAN_DEG
from graph.fits.model import Line
from graph.lookups.findings import PairFinding
from graph.lookups.index import CatalogueIndex
from graph.made.model import MadePart
from graph.made.picture import made_svg
from graph.made.words import caution_lines, limits_of
from graph.reading.question import Question

_BELOW = re.compile(r"\b([A-Za-z]+)_([A-Za-z][A-Za-z_]*)\b")


@dataclass(frozen=True, slots=True)
class WorkingView:
    """What was computed of a joint.

    `joint`, `parts`: of what; `verdict`, `summary`, `margin` (empty while unknown), `binding`: what was found; `lines`:
    the working; `measure`: what is missing; `cautions`; `drawing`: an SVG of ours, empty where there is none; `noted`:
    a note says something of the pair too; `plate`: the address of a plate between two bolt faces, `made` of a part
    that is made for the joint, else empty.
    """

    joint: str
    parts: str
    verdict: str
    summary: str
    margin: str
    binding: str
    lines: tuple[Line, ...]
    measure: tuple[str, ...]
    cautions: tuple[str, ...]
    drawing: Markup
    noted: bool
    plate: str
    made: str = ""


def list_workings(index: CatalogueIndex, question: Question, route: AnsweredRoute) -> tuple[WorkingView, ...]:
    """What was computed for the joints of the route, in their order; nothing where nothing is measured."""
    over = with_derived(index, question)
    if not isinstance(over, OverlayIndex):
        return ()
    found = {(one.joint, frozenset(one.parts)): one for one in over.derived.findings}
    views: list[WorkingView] = []
    for joint in route.joints:
        finding = found.get((joint.kind, frozenset(part.id for part in joint.parts)))
        if finding is not None and finding.result is not None:
            names = " with ".join(part.label for part in joint.parts)
            views.append(_view(index, question, joint.label, names, finding, len(views)))
    return (*views, *_made(over, question, route))


def _made(index: CatalogueIndex, question: Question, route: AnsweredRoute) -> Iterator[WorkingView]:
    """The parts of the route that are made to measure: their sizes, where they come from, their drawing."""
    named = (part for joint in route.joints for part in (*joint.parts, *joint.via))
    for number, part in enumerate(dict.fromkeys(named)):
        asked = named_made(index, part.id)
        if asked is None:
            continue
        asked = replace(asked, gearbox=question.gearbox, engine=question.engine)
        answer = ask_made(index, asked)
        if isinstance(answer.found, MadePart):
            yield _made_view(answer.found, asked, part.label, number)


def _made_view(made: MadePart, asked: MadeAsked, label: str, number: int) -> WorkingView:
    lines = tuple(Line(one.name, "reading and allowance", one.taken, limits_of(one), one.source) for one in made.sizes)
    query = {"kind": asked.kind, "a": asked.a, "b": asked.b, "size": asked.size, "gearbox": asked.gearbox,
             "engine": asked.engine}  # fmt: skip
    return WorkingView(
        joint=label, parts=" with ".join(made.mates), verdict="to be made", summary=made.chosen_text(), margin="",
        binding="", lines=lines, measure=made.measure, cautions=caution_lines(made),
        drawing=Markup("") if made.measure else Markup(made_svg(made, f"made-{number}")), noted=False, plate="",
        made=f"/made?{urlencode({name: text for name, text in query.items() if text})}",
    )  # fmt: skip


def _view(
    index: CatalogueIndex, question: Question, joint: str, names: str, finding: PairFinding, number: int
) -> WorkingView:
    result = finding.result
    assert result is not None
    return WorkingView(
        joint=joint,
        parts=names,
        verdict=str(result.verdict),
        summary=result.summary,
        margin="" if result.margin is None else str(result.margin),
        binding=result.binding,
        lines=tuple(map(_readable, result.working.lines)),
        measure=tuple(missing.text() for missing in result.measure),
        cautions=result.cautions,
        drawing=_drawing(index, finding, number),
        noted=bool(finding.noted),
        plate=_plate(question, finding),
    )


def _plate(question: Question, finding: PairFinding) -> str:
    """The address of the plate that a pair whose faces do not meet would want, within the question's chains."""
    adaptor = JOINT_CHECKS[finding.joint].adaptor
    wanted = adaptor.operation if adaptor else "make-plate"
    works = finding.result.work if finding.result is not None else ()
    if all(work.operation != wanted for work in works):
        return ""
    asked = {"joint": finding.joint, "a": finding.parts[0], "b": finding.parts[1]}
    if adaptor is not None:  # what turns may stand at any angle; the chains of its joint are not those of a plate
        return f"/plates?{urlencode(asked | {'lean': '180'})}"
    lean = {"lean": f"{LEAN_DEG:g}"} if any(work.weak for work in works) else {}
    units = {"gearbox": question.gearbox, "engine": question.engine}
    return f"/plates?{urlencode(asked | lean | units)}"


def _readable(line: Line) -> Line:
    """The line with its symbols as they are written on paper: alpha_hole as α (hole)."""
    return replace(line, symbol=_written(line.symbol), formula=_written(line.formula))


def _written(formula: str) -> str:
    """The formula with what stands below the line in brackets.

    >>> _written("d_hole + alpha_hole * t"), _written("gap")
    ('d(hole) + α(hole) * t', 'gap')
    """
    return _BELOW.sub(
        lambda found: f"{'α' if found[1] == 'alpha' else found[1]}({found[2].replace('_', ' ')})", formula
    )


def _drawing(index: CatalogueIndex, finding: PairFinding, number: int) -> Markup:
    """The two bolt faces over each other, where both are measured."""
    measured = deriver_of(index).measured
    first, second = (measured.face(part, finding.joint) for part in finding.parts)
    if first is None or second is None:
        return Markup("")
    from graph.fits.overlay import overlay_svg  # these two load scipy, which takes a while; only faces need it
    from graph.fits.pattern_match import list_clockings

    clockings = list_clockings(first, second, limit=1)
    return Markup(overlay_svg(first, second, clockings[0], f"faces-{number}")) if clockings else Markup("")

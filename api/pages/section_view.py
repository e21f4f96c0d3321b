"""The section of a route on its page: the drawings with what they say as lists beside them."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from api.pages.asked import address
from graph.answer.model.route import AnsweredRoute
from graph.reading.question import Question
from graph.section.model import AssemblyCut
from graph.section.sheet import lines_of, section_svgs


@dataclass(frozen=True, slots=True)
class CutView:
    """One assembly: its `title`, `drawing` (an SVG of ours) and `lines`, the same in words."""

    title: str
    drawing: Markup
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SectionView:
    """`cuts`: before and after, as far as there is something to draw; `says`: why there is nothing; `alone`: the
    address of the drawing by itself, empty where there is none; `changes`: what differs between the two."""

    cuts: tuple[CutView, ...]
    says: str
    alone: str
    changes: tuple[str, ...] = ()


def section_view(question: Question, route: AnsweredRoute) -> SectionView:
    """The section of a route; a document that came by itself has none."""
    section = route.section
    if section is None or section.says:
        return SectionView((), section.says if section else "There is no section to draw.", "")
    cuts = section.cuts()
    drawings = section_svgs(cuts, f"section-{route.rank}", "The same stands in words below the drawing.")
    return SectionView(
        tuple(_cut(one, drawing) for one, drawing in zip(cuts, drawings, strict=True)), "",
        address("/section.svg", question, [("rank", str(route.rank))]), section.changes if len(cuts) > 1 else (),
    )  # fmt: skip


def _cut(one: AssemblyCut, drawing: str) -> CutView:
    title, *lines = lines_of(one)
    return CutView(title, Markup(drawing), tuple(lines))

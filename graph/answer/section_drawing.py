"""The section of an answered route as a drawing by itself, for page, service and command alike."""

from __future__ import annotations

from graph.answer.model.route import AnsweredRoute
from graph.errors import Conflict
from graph.section.sheet import section_svg


def section_drawing(route: AnsweredRoute, which: str = "") -> str:
    """The SVG of the assembly before and after, side by side; `which`: only that one.

    Raises Conflict with the reason where there is nothing to draw: an empty sheet would say that nothing is there.
    """
    section = route.section
    cuts = section.cuts(which) if section else ()
    if section is None or not cuts:
        said = section.says if section else ""
        raise Conflict(
            said or f"There is no section to draw{f' of the assembly {which}' if which else ''}: no lengths."
        )
    return section_svg(cuts, f"{section.after.title}: the assembly cut along its axis")

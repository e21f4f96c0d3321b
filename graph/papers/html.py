"""A paper as one HTML file: self-contained, without script, with print styles. Every text is escaped."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from functools import cache

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from graph.papers import model, qr
from graph.papers.model import Block, Paper, PaperWay
from graph.papers.sheets import TEMPLATES


def as_html(paper: Paper, ways: Sequence[PaperWay] = ()) -> str:
    """The HTML document. `ways`: where its reader can go on to; they are not printed."""
    return _environment().get_template("paper.html").render(paper=paper, css=Markup(_css()), ways=ways)


def content_policy() -> str:
    """The Content-Security-Policy under which the document shows: nothing but its own style sheet."""
    digest = base64.b64encode(hashlib.sha256(_css().encode()).digest()).decode()
    nothing = "; ".join(f"{name} 'none'" for name in ("default-src", "base-uri", "form-action", "frame-ancestors"))
    return f"{nothing}; style-src 'sha256-{digest}'"


@cache
def _css() -> str:
    return (TEMPLATES / "paper.css").read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    environment.filters["kind"] = _kind
    environment.filters["drawing"] = _drawing
    environment.filters["qr"] = lambda address: Markup(qr.as_svg(address))
    return environment


def _kind(block: Block) -> str:
    return type(block).__name__


def _drawing(block: model.Picture) -> Markup:
    """The SVG as it is: it was drawn by this program, which escapes the words in it."""
    return Markup(block.svg)

"""A paper as PDF. What draws it takes half a second to load, so it is loaded with the first one that is asked for."""

from __future__ import annotations

from graph.papers.model import Paper


def as_pdf(paper: Paper) -> bytes:
    """The PDF file."""
    from graph.papers.drawn import drawn

    return drawn(paper)

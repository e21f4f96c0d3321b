"""A design over HTTP: its values as JSON, or its drawing as a file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

from fastapi import Response

from api.json import PlainJson
from api.workshop import Workshop
from graph.lookups.index import CatalogueIndex

Form = Literal["json", "dxf", "pdf", "svg"]
Paper = Literal["A4", "A3", "A2", "A1", "A0", "Letter"]
MEDIA = {"dxf": "image/vnd.dxf", "pdf": "application/pdf", "svg": "image/svg+xml"}


def drawn(description: str) -> dict[str, Any]:
    """How such an answer is described."""
    return {"description": description, "content": {kind: {} for kind in MEDIA.values()}}


async def design_answer(
    workshop: Workshop, form: Form, name: str, design: Callable[[CatalogueIndex], Any],
    as_json: Callable[[Any], Any], draw: Callable[[Any], bytes | str],
) -> Response:  # fmt: skip
    """What `design` finds among the facts of this moment: told, or drawn as a file of that name."""
    index = workshop.shop.standing().index
    if form == "json":
        return PlainJson(await workshop.work_out(lambda: as_json(design(index))))
    data = await workshop.work_out(lambda: draw(design(index)))
    way = "inline" if form == "svg" else "attachment"
    headers = {"content-disposition": f'{way}; filename="{name}.{form}"'}
    return Response(data, media_type=MEDIA[form], headers=headers)

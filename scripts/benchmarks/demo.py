"""The demo's questions as conversion documents, for the benches that compare on it."""

from __future__ import annotations

from functools import cache
from typing import Any

from graph.catalogue.load import load_catalogue
from graph.cli.question import DEMO_FACTS
from graph.conversion.as_json import conversion_as_json
from graph.lookups.index import CatalogueIndex
from graph.reading import Question, read_conversion


@cache
def demo_documents() -> tuple[dict[str, Any], ...]:
    """A document for each gearbox of the demo behind each of its engines, families left out.

    Also left out are questions where some joint has no link at all: those are answered without a search.
    """
    index = CatalogueIndex(load_catalogue([DEMO_FACTS]))
    gearboxes, engines = (
        [unit for unit in index.units(what) if not index.catalogue.parts[unit].abstract]
        for what in ("gearbox", "engine")
    )
    questions = [Question(gearbox=gearbox, engine=engine) for gearbox in gearboxes for engine in engines]
    documents = [conversion_as_json(read_conversion(index, question).conversion) for question in questions]
    return tuple(each for each in documents if all(joint["links"] for joint in each["joints"]))

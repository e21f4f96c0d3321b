"""The answer that a page must show: what a shop without a record says on the same facts."""

from __future__ import annotations

from graph.answer.model.answer import Answer
from graph.costing.notes import MemoryNotes
from graph.counter.shop import Shop
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question


def shop_answer(known: CatalogueIndex, question: Question) -> Answer:
    """A fresh shop's answer."""
    return Shop(known, MemoryNotes()).ask(question)

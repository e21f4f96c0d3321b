"""Reads the graph around a question into a conversion document."""

from graph.lookups.index import CatalogueIndex
from graph.reading.outcome import Reading
from graph.reading.question import Question
from graph.reading.reading import read_conversion

__all__ = ["CatalogueIndex", "Question", "Reading", "read_conversion"]

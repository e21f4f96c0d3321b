"""The table of phrasings, and how an understanding is written in it."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path

from graph.catalogue.house import FACTS_FOLDER
from graph.catalogue.load import load_catalogue
from graph.lookups.index import CatalogueIndex
from graph.spoken import InWords, understand

TODAY = date(2026, 11, 30)  # a Monday
ARROW = "  =>  "


@cache
def demo() -> CatalogueIndex:
    return CatalogueIndex(load_catalogue([FACTS_FOLDER / "demo"]))


@cache
def phrasings() -> tuple[tuple[str, str], ...]:
    lines = Path(__file__).with_name("phrasings.txt").read_text(encoding="utf-8").splitlines()
    pairs = (line.partition(ARROW) for line in lines if line and not line.startswith("#"))
    return tuple((words, expected) for words, _, expected in pairs)


@cache
def understood(words: str) -> InWords:
    return understand(demo(), words, TODAY)


def written(found: InWords) -> str:
    """As the table has it."""
    told = [f"{chip.field}={chip.value}" for chip in found.chips]
    for doubt in found.doubts:
        fields = {choice.field for choice in doubt.choices}
        if len(fields) == 1:
            told.append(f"{fields.pop()}?{'|'.join(choice.value for choice in doubt.choices)}")
        else:
            told.append("?" + "|".join(f"{choice.field}:{choice.value}" for choice in doubt.choices))
    return "; ".join([*told, *(f"-{one.word}" for one in found.not_understood)])

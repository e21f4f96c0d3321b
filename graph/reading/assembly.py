"""Which kind of finished job a question is about: what it names, or what the asked units say they were made for.

Never what the units contain: whoever forgets a part would otherwise be asked for a smaller job.
"""

from __future__ import annotations

from collections.abc import Iterable

from graph.catalogue.terms import Assembly
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question
from graph.reading.tasks import assembly_meant


def settle_assembly(index: CatalogueIndex, question: Question) -> tuple[Assembly | None, tuple[str, ...]]:
    """The assembly, or else what has to be said first, in words with the choices."""
    known = index.catalogue.assemblies
    meant = assembly_meant(index, question)
    if meant in known:
        return known[meant], ()
    if not known:
        return None, ()
    asked = (question.gearbox, question.engine)
    made_for = {unit: tuple(one for one in index.made_for(unit) if one in known) for unit in asked}
    shared = [one for one in made_for[question.gearbox] if one in made_for[question.engine]]
    return None, tuple(_asks(index, made_for, shared))


def _asks(index: CatalogueIndex, made_for: dict[str, tuple[str, ...]], shared: list[str]) -> Iterable[str]:
    known = index.catalogue.assemblies
    silent = [unit for unit, assemblies in made_for.items() if not assemblies]
    stated = sorted({one for assemblies in made_for.values() for one in assemblies})
    for unit in silent:
        yield (
            f"Nobody has stated what {_label(index, unit)} was made for. State it of the unit, or name the assembly "
            f"in the question: {_choices(index, stated or sorted(known))}."
        )
    if silent:
        return
    if shared:
        yield f"More than one assembly would do. Name one in the question: {_choices(index, shared)}."
        return
    said = "; ".join(f"{_label(index, unit)}: {_choices(index, sorted(one))}" for unit, one in made_for.items())
    yield f"The units were made for different assemblies ({said}). Name the one that the finished job is to be."


def _choices(index: CatalogueIndex, assemblies: Iterable[str]) -> str:
    known = index.catalogue.assemblies
    return " or ".join(f"{known[one].label} ({one})" for one in assemblies)


def _label(index: CatalogueIndex, unit: str) -> str:
    return index.catalogue.parts[unit].label

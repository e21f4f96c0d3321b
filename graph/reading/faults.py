"""What may be worn in the parts as found, how far the job must be opened to see it, and what tells beforehand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from graph.catalogue.model import Catalogue, OpenFault, StatedFault, StatedInspection
from graph.conversion.document import Conversion, Fault, Inspection
from graph.lookups.index import CatalogueIndex
from graph.reading.found import Found, Neighbourhood
from graph.reading.tasks import UnitTasks


def read_faults(index: CatalogueIndex, around: Neighbourhood, work: UnitTasks) -> tuple[Fault, ...]:
    """The faults known of the parts as found, of their families, of their units, or of any part at that place."""
    found: dict[str, Fault] = {}
    for position in sorted(around.positions):
        for part in sorted(around.positions[position]):
            held = around.positions[position][part]
            if not held.as_found:
                continue
            found.update((known.id, _fault(index, known, work)) for known in stated_faults(index, position, held))
    return tuple(found[fault] for fault in sorted(found))


def stated_faults(index: CatalogueIndex, position: str, held: Found) -> Iterable[StatedFault]:
    """What may be worn of a part that is found at the position."""
    for of in ("", *index.lineage(held.part), *index.lineage(held.unit)):
        yield from index.faults_at(position, of)


def _fault(index: CatalogueIndex, known: StatedFault, work: UnitTasks) -> Fault:
    return Fault(
        id=known.id,
        label=known.label,
        position=known.position,
        odds=known.odds,
        cash_hundredths=known.cash_hundredths or 0,
        hours_hundredths=known.hours_hundredths or 0,
        reach=work.here(index.laid_open_by(known.id)),
        shows=known.shows,
    )


def read_inspections(index: CatalogueIndex, faults: Iterable[Fault]) -> tuple[Inspection, ...]:
    """The tests that settle at least one of the faults; none whose hours nobody has stated, it would look free."""
    asked = {fault.id for fault in faults}
    return tuple(
        Inspection(known.id, known.label, known.cash_hundredths, known.hours_hundredths, settles)
        for known in _tests(index, asked)
        if known.hours_hundredths is not None and (settles := tuple(fault for fault in known.settles if fault in asked))
    )


def list_untimed(index: CatalogueIndex, faults: Iterable[Fault]) -> tuple[StatedInspection, ...]:
    """The tests of the faults of which nobody has stated how long they take."""
    return tuple(one for one in _tests(index, {fault.id for fault in faults}) if one.hours_hundredths is None)


def _tests(index: CatalogueIndex, faults: set[str]) -> list[StatedInspection]:
    names = {test for fault in faults for test in index.inspections_of(fault)}
    return [index.catalogue.inspections[one] for one in sorted(names)]


def with_common_causes(conversion: Conversion, known: Catalogue) -> Conversion:
    """The document with what is known to tie its faults of positions; as it is where nothing is known of that."""
    if known.common_causes is None:
        return conversion
    placed = [OpenFault(fault.id, fault.position, fault.odds) for fault in conversion.faults if not fault.on]
    return replace(conversion, causes=known.common_causes(placed))

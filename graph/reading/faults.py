"""What may be worn in the parts as found, how far the job must be opened to see it, and what tells beforehand."""

from __future__ import annotations

from collections.abc import Iterable

from graph.catalogue.model import StatedFault
from graph.conversion.document import Fault, Inspection
from graph.lookups.index import CatalogueIndex
from graph.reading.found import Neighbourhood
from graph.reading.tasks import UnitTasks


def read_faults(index: CatalogueIndex, around: Neighbourhood, work: UnitTasks) -> tuple[Fault, ...]:
    """The faults known of the parts as found, of their families, of their units, or of any part at that place."""
    found: dict[str, Fault] = {}
    for position in sorted(around.positions):
        for part in sorted(around.positions[position]):
            held = around.positions[position][part]
            if not held.as_found:
                continue
            for of in ("", *index.lineage(part), *index.lineage(held.unit)):
                for known in index.faults_at(position, of):
                    found[known.id] = _fault(index, known, work)
    return tuple(found[fault] for fault in sorted(found))


def _fault(index: CatalogueIndex, known: StatedFault, work: UnitTasks) -> Fault:
    return Fault(
        id=known.id,
        label=known.label,
        position=known.position,
        odds=known.odds,
        cash_hundredths=known.cash_hundredths,
        hours_hundredths=known.hours_hundredths,
        reach=work.here(index.laid_open_by(known.id)),
        shows=known.shows,
    )


def read_inspections(index: CatalogueIndex, faults: Iterable[Fault]) -> tuple[Inspection, ...]:
    """The tests that settle at least one of the faults."""
    asked = {fault.id for fault in faults}
    tests = {test for fault in asked for test in index.inspections_of(fault)}
    return tuple(
        Inspection(known.id, known.label, known.cash_hundredths, known.hours_hundredths, settles)
        for known in (index.catalogue.inspections[one] for one in sorted(tests))
        if (settles := tuple(fault for fault in known.settles if fault in asked))
    )

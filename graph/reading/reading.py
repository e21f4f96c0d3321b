"""The reading: from a question and the graph around its units to a conversion document.

The graph around gearbox, engine and vehicle is read into positions with their candidates and joints with their links
(see `graph.conversion.document`). Conditions and evidence are settled on three values, candidates that cannot
close all their joints are left out, and everything left out stays on record with its reason. The search comes
afterwards.
"""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Mapping, MutableMapping
from dataclasses import replace
from typing import cast

from graph.catalogue.model import Catalogue
from graph.catalogue.terms import Assembly, TaskKind
from graph.conversion.document import Conversion
from graph.derive.around import deriver_of, with_derived
from graph.derive.missing import missing_readings
from graph.lookups.index import CatalogueIndex
from graph.reading.assembly import settle_assembly
from graph.reading.assumed import add_supposed, assumed_ways, places_open, suppose
from graph.reading.build import Writer, Written, only_judged, only_judged_links
from graph.reading.candidates import read_neighbourhood
from graph.reading.demanded import Judged, read_demands
from graph.reading.doubts import Doubted, Doubts
from graph.reading.faults import list_untimed, read_faults, read_inspections, with_common_causes
from graph.reading.fitting import with_fitting_hours
from graph.reading.found import Neighbourhood
from graph.reading.lengths import Lengths
from graph.reading.links import Matings, Way, read_ways
from graph.reading.model import NO_PRICE, NOT_KNOWN, EdgeDispute, LeftOut, NearMiss, OpenJoint
from graph.reading.needs import Needs
from graph.reading.outcome import Reading
from graph.reading.prune import Pruned, prune
from graph.reading.question import Question, check_question
from graph.reading.remedies import Remedies
from graph.reading.settling import Looks
from graph.reading.sieve import Sieve
from graph.reading.tasks import UnitTasks, assembly_meant
from graph.reading.tried import with_tried_odds, with_tried_prices
from graph.reading.units import read_units


def read_conversion(
    catalogue: Catalogue | CatalogueIndex, question: Question, *, derive: bool = True,
    unpriced: frozenset[str] = frozenset(),
) -> Reading:  # fmt: skip
    """The conversion document of the question, and where everything in it came from.

    `derive`: take in the edges that follow from measurements (graph/derive) beside those that notes state.
    `unpriced`: parts, and places whose part to suit, that count as costing nothing where nobody has priced them.

    Hand in a CatalogueIndex, kept from question to question, where speed matters: a bare catalogue is indexed anew.
    The same facts and question give the same document, whatever order the facts came in.

    Raises NotFound for an id the graph does not know (with near matches), InvalidQuestion for what cannot be asked,
    InvalidFacts for a task that a fact names and none describes. "No way known" raises nothing: see `open_joints`.
    """
    index = catalogue if isinstance(catalogue, CatalogueIndex) else CatalogueIndex(catalogue)
    check_question(index, question)
    index, tried_prices = with_tried_prices(index, question)
    if derive:
        index = with_derived(index, question)
    assembly, asks = settle_assembly(index, question)
    sieve = Sieve(index, question, assembly.no_use_for if assembly else (), unpriced)
    around = read_neighbourhood(sieve, assembly)
    matings = Matings(sieve)
    ways = read_ways(sieve, around, matings)
    stated = None
    if assembly is not None:
        stated, ways = _with_supposed(sieve, assembly, around, matings, ways)
    needs = Needs(sieve, around)
    work = UnitTasks(index, question.units, assembly_meant(index, question))
    left = prune(sieve, around, ways, needs)
    _note_unknowns(sieve, left)
    units = read_units(sieve)
    lengths = None if assembly is None else _lengths(sieve)
    writer = Writer(sieve, around, left, needs, work, units, stated, lengths)
    written = writer.write()
    judged = _judged(sieve, assembly, around, written)
    doubted = Doubted()
    if assembly is not None:
        writer.write_every_job(assembly.every_job, f"on every job: {assembly.label}")
        doubted = _doubts(sieve, assembly, around, work).read(left.ways, written.lacking, written.unsettled, judged)
    offered = writer.features_offered()
    conversion, book = with_fitting_hours(
        _conversion(index, question, around, writer, offered, doubted, judged), index.catalogue.fitting_hours
    )
    conversion, doubts, tried_odds = with_tried_odds(conversion, doubted.doubts, question)
    conversion = with_common_causes(conversion, index.catalogue)
    return Reading(
        question=question,
        conversion=conversion,
        candidates=written.candidates,
        links=written.links,
        settled=written.settled,
        evidence=written.evidence,
        catalogue=_with_work(index.catalogue, work),
        derived=index.derived,
        left_out=sieve.left_out(),
        open_joints=_open_joints(left, matings.misses),
        disputes=_disputes(index, matings),
        offered=tuple(sorted(offered & set(question.features))),
        standing_shifts=writer.standing_shifts(),
        assembly="" if assembly is None else assembly.id,
        asks=asks,
        doubts=doubts,
        units=units,
        book_hours=book,
        demands=tuple(judged.demands),
        tried=(*tried_prices, *tried_odds),
    )


def _with_work(catalogue: Catalogue, work: UnitTasks) -> Catalogue:
    """The catalogue with the tasks that were made up for donors."""
    if not work.on_donors:
        return catalogue
    return replace(catalogue, tasks=ChainMap(work.on_donors, cast("MutableMapping[str, TaskKind]", catalogue.tasks)))


def _closed_as_stated(
    sieve: Sieve, around: Neighbourhood, ways: Mapping[str, list[Way]]
) -> tuple[Neighbourhood, Pruned]:
    """What is left where nothing is assumed."""
    alone = around.copied()
    with sieve.unrecorded():
        return alone, prune(sieve, alone, ways, Needs(sieve, alone))


def _with_supposed(
    sieve: Sieve, assembly: Assembly, around: Neighbourhood, matings: Matings, stated_ways: Mapping[str, list[Way]]
) -> tuple[Neighbourhood, dict[str, list[Way]]]:
    """What is left where nothing is assumed; and all ways, once what is supposed stands among the parts."""
    stated, left = _closed_as_stated(sieve, around, stated_ways)
    remedies = _remedies(sieve)
    put_off = add_supposed(around, stated, left, lambda p: p.id in sieve.unpriced or remedies.has_price(p))
    ways = _with_assumed(sieve, assembly, around, matings, stated_ways)
    while put_off:
        open_at = places_open(around, _closed_as_stated(sieve, around, ways)[1])
        wanted = next((gap for gap in put_off if gap.position.id in open_at), None)
        if wanted is None:
            break
        put_off.remove(wanted)
        suppose(around, wanted)
        ways = _with_assumed(sieve, assembly, around, matings, stated_ways)
    for gap in put_off:
        place = gap.position
        text = f"{place.label} to suit: nobody has stated what one costs; price the kind, or a part that fits"
        sieve.leave_out(LeftOut(place.id, "part", place.id, NO_PRICE, text))
    return stated, ways


def _with_assumed(
    sieve: Sieve, assembly: Assembly, around: Neighbourhood, matings: Matings, ways: Mapping[str, list[Way]]
) -> dict[str, list[Way]]:
    """The ways with those of the parts supposed, and those that nobody has stated."""
    if around.gaps:
        ways = read_ways(sieve, around, matings)
    assumed = assumed_ways(sieve, assembly, around, ways)
    return {joint: [*found, *assumed.get(joint, ())] for joint, found in ways.items()}


def _lengths(sieve: Sieve) -> Lengths:
    return Lengths(sieve, deriver_of(sieve.index).measured.known)


def _judged(sieve: Sieve, assembly: Assembly | None, around: Neighbourhood, written: Written) -> Judged:
    """The question's demands; where an assembly is settled, what they are not known on is an assumption."""
    if not sieve.question.demands:
        return Judged()
    judged = read_demands(sieve.question, around, written.positions, deriver_of(sieve.index).measured)
    if assembly is not None:
        written.positions[:] = map(judged.marked, written.positions)
    return judged


def _doubts(sieve: Sieve, assembly: Assembly, around: Neighbourhood, work: UnitTasks) -> Doubts:
    looks = Looks(sieve.index.catalogue, missing_readings(sieve.index))
    return Doubts(sieve, around, work, _remedies(sieve), looks, assembly.comes_apart_by)


def _remedies(sieve: Sieve) -> Remedies:
    rate = sieve.question.rate_hundredths
    return Remedies(sieve.index, sieve.index.catalogue.rate_hundredths if rate is None else rate)


def _note_unknowns(sieve: Sieve, left: Pruned) -> None:
    """What waits for a measurement or a price is put on record, lest it be taken for a misfit.

    Only where the joint stays open, or where a part in hand is meant; for the rest see graph/derive/next_measurement.
    """
    for unknown in sieve.index.derived.unknowns:
        if not unknown.noted and (unknown.joint in left.open or not sieve.own.isdisjoint(unknown.parts)):
            what = "+".join(sorted(unknown.parts))
            sieve.leave_out(LeftOut(what, "pair", unknown.joint, NOT_KNOWN, unknown.text))


def _disputes(index: CatalogueIndex, matings: Matings) -> tuple[EdgeDispute, ...]:
    """What notes dispute among themselves, then what only the arithmetic disputes."""
    among = [matings.disputes[key] for key in sorted(matings.disputes, key=lambda k: (k[0], sorted(k[1])))]
    seen = {(dispute.joint, frozenset(dispute.parts)) for dispute in among}
    computed = [
        EdgeDispute(one.joint, (one.parts[0], one.parts[1]), one.edges, (), one.text)
        for one in index.derived.disputes
        if len(one.parts) == 2 and (one.joint, frozenset(one.parts)) not in seen
    ]
    return (*among, *computed)


def _conversion(
    index: CatalogueIndex, question: Question, around: Neighbourhood, writer: Writer, offered: set[str],
    doubted: Doubted, judged: Judged,
) -> Conversion:  # fmt: skip
    known = index.catalogue
    faults = read_faults(index, around, writer.work)
    for test in list_untimed(index, faults):
        text = f"{test.label}: nobody has stated how long it takes, so it is not weighed as a look"
        writer.sieve.leave_out(LeftOut(test.id, "inspection", test.id, NOT_KNOWN, text))
    reach = {task for fault in faults for task in fault.reach} | doubted.tasks()
    chains = writer.chains()
    measured = frozenset(chain.id for chain in chains)
    return Conversion(
        gearbox=question.gearbox,
        engine=question.engine,
        rate_hundredths=known.rate_hundredths if question.rate_hundredths is None else question.rate_hundredths,
        day_hours=known.day_hours,
        deadline=question.deadline,
        tasks=writer.work.closed(writer.tasks_named() | reach),
        positions=tuple(only_judged(position, measured) for position in writer.written.positions),
        joints=tuple(only_judged_links(joint, measured) for joint in writer.written.joints),
        chains=chains,
        rules=tuple(dict.fromkeys((*writer.providers.rules(), *judged.rules))),
        faults=(*faults, *doubted.faults),
        inspections=(*read_inspections(index, faults), *doubted.inspections),
        features=tuple(feature for feature in dict.fromkeys(question.features) if feature not in offered),
        instead_hundredths=question.instead_hundredths,
        most_assumed=question.most_assumed,
    )


def _open_joints(left: Pruned, misses: Mapping[str, Mapping[str, NearMiss]]) -> tuple[OpenJoint, ...]:
    return tuple(
        OpenJoint(joint, left.open[joint], tuple(sorted(misses.get(joint, {}).values(), key=_nearest)))
        for joint in sorted(left.open)
    )


def _nearest(miss: NearMiss) -> tuple[bool, int, str]:
    return miss.miss_um is None, abs(miss.miss_um or 0), miss.edge

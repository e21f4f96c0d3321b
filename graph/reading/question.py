"""What is asked: which gearbox behind which engine, and under which circumstances. No I/O."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from graph.catalogue.model import UNIT_KINDS
from graph.catalogue.near import near_matches
from graph.catalogue.relations import STATE
from graph.errors import InvalidInput, InvalidQuestion, NotFound, Problem
from graph.fits.wanted import read_wanted
from graph.lookups.index import CatalogueIndex
from graph.reading.job_keys import POWER, TORQUE, YEAR, faults_of_value
from graph.search.result import OBJECTIVES

MOST_ALTERNATIVES = 20
MOST_DEMANDS = 10
LEAST_MEMORY_MB = 64
MOST_TRIED = 50
DOUBT = "doubt/"  # begins the id of a doubt, which the reading makes up
Answerable = str | int | float | Fraction | bool | tuple[str, ...]  # what a context key may hold


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Asks for the cheapest route from a gearbox to an engine, with all that bears on it.

    `context`: what is known of the job (`duty`, `tools`, `ecu`, `year`, `torque_nm`); a key left out is unknown.
    `avoid`: part, family or kind ids that no route may use. `own`: part ids in hand: no price, no lead time; a unit
    among them that is not asked about is a donor of parts. A gearbox or engine that states a price and is not among
    them is bought; `part_exchange`: the old one is handed in for it. `features`: what the finished assembly must offer.
    `demands`: what sums over its parts must come to, in the words of `graph.fits.wanted` ("first gear at least 3.3").
    `evidence_floor`: the weakest evidence level to rest on. `rate_hundredths`: per bench hour, the catalogue's if None.
    `odds`, `prices_hundredths`: tried in place of what is known, by the id of a fault or doubt (0 to 1) and of a part;
    they count in this answer only. `deadline`: days, or None. `without_machining`: nothing is machined for it;
    `from_shelf`: only what is on the shelf or in hand is fitted.
    `instead_hundredths`: what not doing the job costs, None where nobody says. `most_assumed`: how many picks of a
    route may be assumed, None for any number.
    `assembly`: the kind of finished job; "": as the units say that they were made for.
    `seconds`, `memory_mb`: the most that its searches may take; None: what the shop's settings allow, which also is
    the most that a question can ask for.
    """

    gearbox: str
    engine: str
    vehicle: str = ""
    context: Mapping[str, Answerable] = field(default_factory=dict)
    avoid: tuple[str, ...] = ()
    own: tuple[str, ...] = ()
    part_exchange: bool = False
    features: tuple[str, ...] = ()
    demands: tuple[str, ...] = ()
    evidence_floor: str = ""
    refuse_disputed: bool = False
    without_machining: bool = False
    from_shelf: bool = False
    rate_hundredths: int | None = None
    odds: Mapping[str, Fraction] = field(default_factory=dict)
    prices_hundredths: Mapping[str, int] = field(default_factory=dict)
    deadline: Fraction | None = None
    objective: str = "expected"
    alternatives: int = 2
    assembly: str = ""
    instead_hundredths: int | None = None
    most_assumed: int | None = None
    seconds: Fraction | None = None
    memory_mb: int | None = None

    @property
    def units(self) -> tuple[str, ...]:
        """The asked units in order: gearbox, engine, vehicle if there is one."""
        return tuple(unit for unit in (self.gearbox, self.engine, self.vehicle) if unit)

    def unit_of(self, owner: str) -> str:
        """The unit asked about that is the `owner` (gearbox, engine, vehicle); "" if none is."""
        return dict(zip(UNIT_KINDS, (self.gearbox, self.engine, self.vehicle), strict=True)).get(owner, "")


USUAL_KEYS = (TORQUE, POWER, "duty", "tools", "ecu", YEAR)  # that may be said of any job, asked for or not


def check_question(index: CatalogueIndex, question: Question) -> None:
    """Raises NotFound for an id the graph does not know, InvalidQuestion for what cannot be asked."""
    known = index.catalogue
    _check_units(index, question)
    for part in question.own:
        _check_known("part", part, known.parts)
    for avoided in question.avoid:
        if avoided not in known.parts and avoided not in known.part_kinds:
            raise NotFound("part or part kind", avoided, _near_any(avoided, known.part_kinds, known.parts))
    for part in question.prices_hundredths:
        _check_known("part", part, known.parts)
    for fault in question.odds:
        if not fault.startswith(DOUBT):
            _check_known("fault", fault, known.faults)
    for feature in question.features:
        _check_known("feature", feature, known.features)
    if question.assembly:
        _check_known("assembly", question.assembly, known.assemblies)
    if question.evidence_floor:
        _check_known("evidence level", question.evidence_floor, known.evidence_levels)
    problems = list(_problems(index, question))
    if problems:
        raise InvalidQuestion(problems)


def _near_any(wanted: str, *tables: Mapping[str, object]) -> tuple[str, ...]:
    return near_matches(wanted, [near for known in tables for near in near_matches(wanted, known)])


def _check_units(index: CatalogueIndex, question: Question) -> None:
    for what in UNIT_KINDS:
        unit = question.unit_of(what)
        if not unit and what == "vehicle":
            continue
        if not index.is_unit(unit, what):
            raise NotFound(what, unit, near_matches(unit, index.units(what)))


def _check_known(what: str, wanted: str, known: Mapping[str, object]) -> None:
    if wanted not in known:
        raise NotFound(what, wanted, near_matches(wanted, known))


def _problems(index: CatalogueIndex, question: Question) -> Iterable[Problem]:
    for what in UNIT_KINDS:
        unit = question.unit_of(what)
        if unit and index.catalogue.parts[unit].abstract:
            variants = ", ".join(index.variants_of(unit)) or "none known"
            yield Problem(what, f"{unit!r} is a family; ask about one of its variants ({variants})")
    if question.objective not in OBJECTIVES:
        yield Problem("objective", f"expected one of {', '.join(OBJECTIVES)}; found {question.objective!r}")
    if not 0 <= question.alternatives <= MOST_ALTERNATIVES:
        yield Problem("alternatives", f"expected 0 to {MOST_ALTERNATIVES}; found {question.alternatives}")
    if question.rate_hundredths is not None and question.rate_hundredths < 0:
        yield Problem("rate", "expected 0 or more per bench hour")
    yield from _tried_problems(question)
    for part in question.prices_hundredths:
        if index.catalogue.parts[part].abstract:
            variants = ", ".join(index.variants_of(part)) or "none known"
            yield Problem(f"prices.{part}", f"is a family and has no price of its own; try one of {variants}")
    if question.deadline is not None and question.deadline < 0:
        yield Problem("deadline", "expected 0 days or more")
    if question.instead_hundredths is not None and question.instead_hundredths < 0:
        yield Problem("instead", "expected 0 or more: what not doing the job costs")
    if question.most_assumed is not None and question.most_assumed < 0:
        yield Problem("most_assumed", "expected 0 or more assumptions")
    if question.seconds is not None and question.seconds <= 0:
        yield Problem("seconds", "expected more than 0 seconds")
    if question.memory_mb is not None and question.memory_mb < LEAST_MEMORY_MB:
        yield Problem("memory_mb", f"expected {LEAST_MEMORY_MB} MB or more")
    if len(question.demands) > MOST_DEMANDS:
        yield Problem("demands", f"expected at most {MOST_DEMANDS}; found {len(question.demands)}")
    for number, text in enumerate(question.demands[:MOST_DEMANDS]):
        try:
            read_wanted(text, f"demands[{number}]")
        except InvalidInput as error:
            yield from error.problems
    for both in sorted(set(question.own) & set(question.avoid)):
        yield Problem("avoid", f"{both!r} is both in hand (`own`) and to be avoided; drop it from one of the two")
    if question.assembly:
        yield from _not_made_for(index, question)
    yield from _unknown_keys(index, question)
    for key, value in question.context.items():
        for fault in faults_of_value(key, value, lambda: index.listing.asked):
            yield Problem(f"context.{key}", fault)


def _unknown_keys(index: CatalogueIndex, question: Question) -> Iterable[Problem]:
    """What is said of the job and no condition asks for: who mistypes a key would think that it was reckoned with."""
    if all(key in USUAL_KEYS for key in question.context):
        return
    asked = {key for key, _, _ in index.listing.asked}
    known = dict.fromkeys(sorted({*USUAL_KEYS, *asked}.difference(UNIT_KINDS, (STATE,))))
    for key in sorted(set(question.context).difference(known)):
        near = near_matches(key, known)
        meant = f"did you mean {' or '.join(near)}?" if near else f"known are {', '.join(known)}"
        yield Problem(f"context.{key}", f"nothing is known of a job by the name {key!r}; {meant}")


def jobs_of(index: CatalogueIndex, unit: str) -> tuple[str, ...]:
    """The assemblies that the unit is known to be made for and those that these turn into; none: nothing is known."""
    kinds, stated = index.catalogue.assemblies, index.made_for(unit)
    turned = (job for one in stated if one in kinds for job in kinds[one].turns_into)
    return tuple(sorted({*stated, *turned}))


def _not_made_for(index: CatalogueIndex, question: Question) -> Iterable[Problem]:
    for unit in (question.gearbox, question.engine):
        may_be = jobs_of(index, unit)
        if may_be and question.assembly not in may_be:
            yield Problem("assembly", f"{unit!r} is made for another kind of job; ask for one of {', '.join(may_be)}")


def _tried_problems(question: Question) -> Iterable[Problem]:
    for part, price in question.prices_hundredths.items():
        if price < 0:
            yield Problem(f"prices.{part}", "expected 0 or more")
    for fault, odds in question.odds.items():
        if not 0 <= odds <= 1:
            yield Problem(f"odds.{fault}", f"expected 0 to 1 (0.3 is 30 %); found {float(odds):g}")
    for name, tried in (("prices", question.prices_hundredths), ("odds", question.odds)):
        if len(tried) > MOST_TRIED:
            yield Problem(name, f"at most {MOST_TRIED} can be tried at once; found {len(tried)}")

"""What making a part or working on one comes to: by the shop's rates as it is counted, else by its price list.

A made part whose design is known whole goes by the rates, as plates do, where the shop has one for all it is counted
in; else by the price list's flat price; else, where some of it is not known yet, by the rates for what is counted, as
"at least". Plates go by their rates wherever the shop has all four, as "at least" where it has none for their screws
or outline. Work on the customer's own parts goes by its own price, and by the rates only where it has none. What
fitting a made part takes is what the price list says of it, else what is usual for its kind, else the most that the
parts of the kind state, where all do; else nobody has stated it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from graph.catalogue.model import Catalogue
from graph.derive.costs import Cost, NotPriced, cost_of, hours_together
from graph.derive.plate_prices import plate_cost, price_lines
from graph.exact import HUNDREDTHS
from graph.fits.model import Work
from graph.lookups.index import CatalogueIndex
from graph.made.bill import count_made
from graph.made.model import MadePart
from graph.plates.bill import SET_UP, PlateCount, count_beside, count_own_work, count_work
from graph.plates.model import PlateDesign

PLATE, MAKE_PLATE = "adapter-plate", "make-plate"  # kind of part, operation
MOST_LOOKED_AT = 200  # parts of a kind whose hours are looked at


@dataclass(frozen=True, slots=True)
class WorkPrice:
    """What a piece of work costs by the rates, line by line. `lacks`: what is not counted, so that it is "at least";
    `design`: of the part that is made, None for work on a part that is there."""

    cost: Cost
    lines: tuple[str, ...]
    lacks: tuple[str, ...] = ()
    design: MadePart | None = None


PriceOf = Callable[[Work], "WorkPrice | None"]


def no_rates(_work: Work) -> WorkPrice | None:
    """Nothing goes by the rates."""
    return None


def has_rates_for(catalogue: Catalogue, counts: Iterable[PlateCount]) -> bool:
    """Has the shop a rate for all of these?"""
    return all(one.operation in catalogue.operation_prices for one in counts)


def rates_lacking(catalogue: Catalogue, counts: Iterable[PlateCount]) -> tuple[str, ...]:
    """The rates that it has not."""
    return tuple(one.operation for one in counts if one.operation not in catalogue.operation_prices)


def price_design(index: CatalogueIndex, design: MadePart) -> WorkPrice | None:
    """A made part by the rates, fitting it with it; None where the shop lacks one of them."""
    catalogue = index.catalogue
    counts, lacks = count_made(design)
    unpriced = [
        one for one in counts if one.operation in design.kind.also and one.operation not in catalogue.operation_prices
    ]
    counts = tuple(one for one in counts if one not in unpriced)
    lacks = (*lacks, *(f"price of {one.text()}" for one in unpriced))
    if not has_rates_for(catalogue, counts) or design.kind.blank not in catalogue.operation_prices:
        return None
    cost = plate_cost(catalogue, counts)
    fitting, whose = fitting_hours(index, design.kind.part_kind, design.kind.operation)
    hours = hours_together(cost.hours_hundredths, fitting)
    lines = [line.text() for line in price_lines(catalogue, counts)]
    if fitting:
        lines.append(f"fitting it: {fitting / HUNDREDTHS:.2f} h, {whose}")
    return WorkPrice(replace(cost, hours_hundredths=hours), tuple(lines), (*lacks, *design.measure), design)


def price_plate(index: CatalogueIndex, design: PlateDesign, stock_mm: int = 0) -> WorkPrice:
    """A plate by the shop's rates, fitting it with it; `lacks`: what has no rate. `stock_mm`: as `count_work` has it.

    The shop has all of `PLATE_RATES` (`has_rates`).
    """
    catalogue = index.catalogue
    beside = count_beside(design.pieces)
    lacks = tuple(one.text() for one in beside if one.operation not in catalogue.operation_prices)
    counts = (
        *count_work(design.pieces, design.wanted.rules.material, stock_mm),
        *(one for one in beside if one.operation in catalogue.operation_prices),
    )
    cost = plate_cost(catalogue, counts)
    fitting, whose = fitting_hours(index, PLATE, MAKE_PLATE)
    lines = [line.text() for line in price_lines(catalogue, counts)]
    lines += [f"fitting it: {fitting / HUNDREDTHS:.2f} h, {whose}"] if fitting else []
    hours = hours_together(cost.hours_hundredths, fitting)
    return WorkPrice(replace(cost, hours_hundredths=hours), tuple(lines), lacks)


def price_own_work(catalogue: Catalogue, work: Work, *, set_up: bool = True) -> WorkPrice | None:
    """Work on a part that is there, by the rates; None where it is not counted so or a rate is missing. `set_up`: with
    setting the part up, which is paid once for all that is done to it."""
    counts = count_own_work(work.operation)
    if not counts or not has_rates_for(catalogue, counts):
        return None
    counts = counts if set_up else tuple(one for one in counts if one.operation != SET_UP)
    lines = price_lines(catalogue, counts)
    return WorkPrice(plate_cost(catalogue, counts), tuple(line.text() for line in lines))


def price_of_work(
    catalogue: Catalogue, work: Work, price_of: PriceOf = no_rates, *, set_up: bool = True
) -> WorkPrice:  # fmt: skip
    """One piece of work. Raises NotPriced."""
    made = price_of(work)
    if made is not None and not made.lacks:
        return made
    if work.operation in catalogue.operation_prices:
        return WorkPrice(cost_of(catalogue, (work,)), ())
    found = made or price_own_work(catalogue, work, set_up=set_up)
    if found is None:
        raise NotPriced(work.operation)
    return found


def price_works(
    catalogue: Catalogue, works: Iterable[Work], price_of: PriceOf = no_rates
) -> Iterator[tuple[Work, WorkPrice]]:
    """Each piece of work with its price; a part that several are done to is set up once. Raises NotPriced."""
    on_machine: set[str] = set()
    for work in works:
        priced = price_of_work(catalogue, work, price_of, set_up=work.on not in on_machine)
        if priced.lines and priced.design is None:
            on_machine.add(work.on)
        yield work, priced


def cost_of_works(catalogue: Catalogue, works: Sequence[Work], price_of: PriceOf = no_rates) -> Cost:
    """The sum over the works. Raises NotPriced for the first that has no price, or only part of one."""
    cost = Cost()
    for work, priced in price_works(catalogue, works, price_of):
        if priced.lacks:
            raise NotPriced(work.operation)
        one = priced.cost
        cost = Cost(
            cost.cash_hundredths + one.cash_hundredths, hours_together(cost.hours_hundredths, one.hours_hundredths),
            max(cost.days, one.days), tuple(dict.fromkeys((*cost.tasks, *one.tasks))),
        )  # fmt: skip
    return cost


def fitting_hours(index: CatalogueIndex, part_kind: str, operation: str) -> tuple[int | None, str]:
    """Hundredths of hours that fitting a made part of the kind takes, and whose they are; None: nobody has stated it.

    Of other parts of the kind the most counts, and only where each of them states its own: whoever forgot one would
    otherwise be told less.
    """
    listed = index.catalogue.operation_prices.get(operation)
    if listed is not None and listed.hours_hundredths is not None:
        return listed.hours_hundredths, "as the price list has its work"
    known = index.catalogue.part_kinds.get(part_kind)
    if known is not None and known.usual_hours_hundredths is not None:
        return known.usual_hours_hundredths, f"as usual for the kind: {known.label}"
    names = index.parts_of_kind(part_kind)
    if not names or len(names) > MOST_LOOKED_AT:
        return None, ""
    others = [part for name in names if not (part := index.catalogue.parts[name]).abstract]
    most = max(others, key=lambda part: part.hours_hundredths or 0, default=None)
    if most is None or any(part.hours_hundredths is None for part in others):
        return None, ""
    return most.hours_hundredths, f"as for {most.label}"

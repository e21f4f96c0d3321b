"""Rates per kind of work and the sublet price list, put into the catalogue where its tasks and operations name them.

A sublet price is linked by its id: that of a task that is sent out (a visit to the machine shop) or the name of an
operation (turn-shoulder). A rate is linked by the kind of work that a task or an operation states.
The search knows the bench rate only, so work of another kind carries the difference as cash.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from graph.answer.words import cash, days
from graph.catalogue.model import Catalogue, OperationPrice
from graph.catalogue.terms import TaskKind
from graph.costing.rates import BENCH, Rate, Sublet, surcharge_hundredths
from graph.plates.bill import RATES

SENT_OUT = "send-out"
VISIT = "machine-shop-visit"


def with_sublets(catalogue: Catalogue, sublets: Iterable[Sublet]) -> tuple[Catalogue, dict[str, str]]:
    """The catalogue with the prices and leads of work sent out, and by task what the reader is told.

    A price in another currency than the catalogue's, or of something that is not sent out, changes nothing.
    """
    tasks: dict[str, TaskKind] = {}
    operations: dict[str, OperationPrice] = {}
    told: dict[str, str] = {}
    for sublet in sublets:
        if sublet.currency != catalogue.currency:
            continue
        task, operation = catalogue.tasks.get(sublet.id), catalogue.operation_prices.get(sublet.id)
        if task is not None and task.stage == SENT_OUT:
            tasks[task.id] = replace(task, cash_hundredths=sublet.cash_hundredths, days=sublet.lead_days)
            told[task.id] = _sublet_words(task.label, sublet)
        elif operation is not None:
            price = replace(operation, cash_hundredths=sublet.cash_hundredths, days=sublet.lead_days)
            operations[operation.operation] = price
        elif sublet.id in RATES:
            operations[sublet.id] = _plate_rate(catalogue, sublet)
    return _with(catalogue, tasks, operations), told


def _plate_rate(catalogue: Catalogue, sublet: Sublet) -> OperationPrice:
    """A rate for plates that no fact has yet: paid to the machine shop, with its visit where the facts know one.

    The work is done outside, so it takes none of the bench's hours but the visit's.
    """
    tasks = (VISIT,) if VISIT in catalogue.tasks else ()
    return OperationPrice(
        id=sublet.id, operation=sublet.id, label=RATES[sublet.id], cash_hundredths=sublet.cash_hundredths,
        hours_hundredths=0, days=sublet.lead_days, tasks=tasks,
    )  # fmt: skip


def with_rates(catalogue: Catalogue, rates: Iterable[Rate]) -> tuple[Catalogue, dict[str, str]]:
    """The catalogue with work of other kinds at its own rate, and by task what the reader is told.

    `rates`: all in the catalogue's currency count. The bench's is the catalogue's unless it is among them.
    """
    known = {rate.kind: rate for rate in rates if rate.currency == catalogue.currency}
    known.setdefault(BENCH, Rate(BENCH, catalogue.rate_hundredths, catalogue.currency))
    tasks: dict[str, TaskKind] = {}
    told: dict[str, str] = {}
    for task in catalogue.tasks.values():
        if task.work in known and task.work != BENCH and task.hours_hundredths:
            tasks[task.id] = replace(task, cash_hundredths=_charged(task, known), cash_is_rate=not task.cash_stated)
            told[task.id] = _rate_words(task, known[task.work])
    operations = {
        name: replace(price, cash_hundredths=_charged(price, known))
        for name, price in catalogue.operation_prices.items()
        if price.work in known and price.work != BENCH and price.hours_hundredths
    }
    return _with(catalogue, tasks, operations), told


def _charged(done: TaskKind | OperationPrice, rates: Mapping[str, Rate]) -> int:
    """A difference below 0 takes from the cash at most what is there: the document knows no negative prices."""
    surcharge = surcharge_hundredths(rates.values(), done.work, done.hours_hundredths or 0)
    return max(0, (done.cash_hundredths or 0) + surcharge)


def _with(catalogue: Catalogue, tasks: Mapping[str, TaskKind], operations: Mapping[str, OperationPrice]) -> Catalogue:
    if tasks:
        catalogue = replace(catalogue, tasks={**catalogue.tasks, **tasks})
    if operations:
        catalogue = replace(catalogue, operation_prices={**catalogue.operation_prices, **operations})
    return catalogue


def _sublet_words(label: str, sublet: Sublet) -> str:
    words = f"{label}: {cash(sublet.cash_hundredths, sublet.currency)}, {days(sublet.lead_days)} (sublet price list)"
    return f"{words}; the order must say: {sublet.wanted}" if sublet.wanted else words


def _rate_words(task: TaskKind, rate: Rate) -> str:
    shown = cash(rate.hundredths, rate.currency)
    return f"{task.label}: {task.work} work at {shown} an hour; the difference to the bench rate stands as cash"

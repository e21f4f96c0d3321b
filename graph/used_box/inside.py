"""What of a used gearbox may be worn, with its odds before a look, and what putting it right takes on the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from graph.catalogue.model import StatedFault
from graph.conversion.closure import with_all_before
from graph.costing.odds import TEN_THOUSANDTHS
from graph.costing.prices import half_up
from graph.costing.priors import fault_at_position, load_priors_once
from graph.costing.while_open import cost_of
from graph.lookups.index import CatalogueIndex, PlaceState
from graph.reading.tasks import BENCH, UnitTasks
from graph.wear.model import WearRow
from graph.wear.prices import OwnPrice, WearPrices
from graph.wear.table import wear_table

GEARBOX = "gearbox"


@dataclass(frozen=True, slots=True)
class InsideFault:
    """One fault of the table inside this box, at its first place that holds a part. `reach`: bench tasks, in order."""

    id: str
    label: str
    renews: str
    odds: Fraction
    price: OwnPrice
    reach: tuple[str, ...]
    source: str


class Inside:
    """The places of one unit or family. `faults`: by id; `not_known`: places where nobody says what is there."""

    def __init__(self, index: CatalogueIndex, gearbox: str):
        self.index, self._gearbox = index, gearbox
        made_for = index.made_for(gearbox)
        self.assembly = made_for[0] if len(made_for) == 1 else ""
        self._work = UnitTasks(index, (gearbox,), self.assembly)
        self._prices = WearPrices(index)
        self.faults: dict[str, InsideFault] = {}
        self.not_known: dict[str, None] = {}
        for row in wear_table():
            self._add(row)

    def _add(self, row: WearRow) -> None:
        kind = self.index.catalogue.position_kinds.get(row.position)
        if kind is None or kind.owner != GEARBOX or row.fault in self.faults:
            return
        place = self.index.place(self._gearbox, row.position)
        if place.state is PlaceState.HAS_NONE:
            return
        if place.state is PlaceState.NOT_KNOWN and not self._belongs(row.position):
            if self._may_have(row.position):
                self.not_known[kind.label] = None
            return
        part = place.edges[0].target if place.state is PlaceState.HOLDS else ""
        self.faults[row.fault] = self._fault(row, part, kind.fit_tasks)

    def _belongs(self, position: str) -> bool:
        known = self.index.catalogue.assemblies.get(self.assembly)
        return known is not None and position in known.must_have

    def _may_have(self, position: str) -> bool:
        known = self.index.catalogue.assemblies.get(self.assembly)
        return known is None or position in known.may_have

    def _fault(self, row: WearRow, part: str, fit_tasks: Sequence[str]) -> InsideFault:
        opening = self._work.here((row.needs,) if row.needs else fit_tasks)
        tasks = self.index.catalogue.tasks
        reach = tuple(one for one in with_all_before(opening, self._work.after) if tasks[one].stage == BENCH)
        stated, prior = self._stated(row), load_priors_once()[row.fault]
        odds = stated.odds if stated else prior.mean
        price = self._prices.of(row, "" if row.piece else part)
        if stated:
            price = OwnPrice(stated.cash_hundredths, stated.hours_hundredths, "as the fault states it")
        source = stated.source if stated else prior.source
        return InsideFault(
            row.fault, row.label, row.renews, Fraction(half_up(odds * TEN_THOUSANDTHS), TEN_THOUSANDTHS), price, reach,
            source,
        )  # fmt: skip

    def _stated(self, row: WearRow) -> StatedFault | None:
        """What the shop's facts and record say of that fault in this very unit, or in its families."""
        if fault_at_position().get(row.position) != row.fault:
            return None
        lines = ("", *self.index.lineage(self._gearbox))
        known = [one for of in lines for one in self.index.faults_at(row.position, of) if 0 < one.odds < 1]
        return min(known, key=lambda one: one.id, default=None)

    def own(self, fault: InsideFault) -> Fraction:
        """Putting it right once it is open, as far as it has a price."""
        return cost_of(fault.price.cash_hundredths or 0, fault.price.hours_hundredths or 0, self.rate)

    @property
    def rate(self) -> int:
        """The bench rate, whole hundredths an hour."""
        return self.index.catalogue.rate_hundredths

    def lacks(self, fault: InsideFault) -> tuple[str, ...]:
        """What of its price nobody has stated."""
        return fault.price.lacks if self.rate else (*fault.price.lacks, "the bench rate")

    def task_costs(self) -> dict[str, Fraction]:
        """What each bench task costs."""
        names = sorted({task for fault in self.faults.values() for task in fault.reach})
        known = {task.id: task for task in self._work.closed(names)} if names else {}
        return {one: cost_of(known[one].cash_hundredths, known[one].hours_hundredths, self.rate) for one in names}

"""What putting a doubt right usually costs: a part at the shop's prices, work at its price list, or as the kind says.

A price, an hour or a rate that is missing is never nothing: it is named, and what is known counts as "at least".
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from statistics import median_low

from graph.catalogue.model import Catalogue, OperationPrice, Part
from graph.catalogue.terms import JointKind, PositionKind, TaskKind
from graph.lookups.change import Change
from graph.lookups.index import CatalogueIndex
from graph.lookups.sequences import evenly
from graph.reading.untold import lacking_of_task

FEWEST_PRICES = 3  # of which a median is made
MOST_PRICES = 200  # that are looked at; of more, so many at even steps
_KEPT = "usual prices"


@dataclass(frozen=True, slots=True)
class Remedy:
    """What puts a doubt right: whole hundredths of money and hours, where they are from, and what has no figure."""

    text: str = ""
    cash_hundredths: int = 0
    hours_hundredths: int = 0
    source: str = ""
    unpriced: tuple[str, ...] = ()

    def with_unpriced(self, *what: str) -> Remedy:
        """The same, known less well."""
        return replace(self, unpriced=tuple(dict.fromkeys((*self.unpriced, *what))))


@dataclass(frozen=True, slots=True)
class UsualPrice:
    """What a part of a kind usually costs and how long fitting it takes (None: too few say); `source` in words."""

    cash_hundredths: int
    hours_hundredths: int | None
    source: str


class Remedies:
    """The usual remedies at this shop. `rate_hundredths`: the bench rate that the question is reckoned at."""

    def __init__(self, index: CatalogueIndex, rate_hundredths: int):
        self._index, self._rate = index, rate_hundredths
        self._prices = usual_prices(index)

    def of_joint(self, joint: JointKind) -> Remedy:
        """The cheapest of what is priced whole; where nothing is, what the kind says, with what it lacks."""
        whole = [one for one in (*self._bought(joint), *self._worked(joint), self._usual(joint)) if not one.unpriced]
        if whole:
            return self._with_rate(min(whole, key=lambda one: (self._total(one), one.source)))
        return self._with_rate(self._usual(joint))

    def of_part(self, position: PositionKind, joints: Iterable[JointKind] = ()) -> Remedy:
        """A part for the place, bought and fitted; hours as for other parts of the kind, else as for its joints."""
        text, no_hours = f"{position.label} to suit", f"hours to fit {position.label}"
        for kind in position.part_kinds:
            price = self._prices.of(self._index, kind)
            if price is not None:
                hours = self._hours_for(kind, joints) if price.hours_hundredths is None else price.hours_hundredths
                remedy = Remedy(text, price.cash_hundredths, hours or 0, price.source)
                return self._with_rate(remedy if hours is not None else remedy.with_unpriced(no_hours))
        for kind in position.part_kinds:
            usual = self._index.catalogue.part_kinds[kind]
            if usual.usual_cash_hundredths is not None:
                hours = self._hours_for(kind, joints)
                remedy = Remedy(text, usual.usual_cash_hundredths, hours or 0, f"usual price of a kind: {usual.label}")
                return self._with_rate(remedy if hours is not None else remedy.with_unpriced(no_hours))
        return Remedy(text).with_unpriced(f"price of {position.label}", no_hours)

    def has_price(self, position: PositionKind) -> bool:
        """Whether anything says what a part for the place usually costs."""
        kinds = self._index.catalogue.part_kinds
        return any(
            self._prices.of(self._index, kind) is not None or kinds[kind].usual_cash_hundredths is not None
            for kind in position.part_kinds
        )

    def _bought(self, joint: JointKind) -> Iterable[Remedy]:
        price = self._prices.of(self._index, joint.remedy_kind) if joint.remedy_kind else None
        if price is not None:
            hours = price.hours_hundredths if joint.remedy_hours_hundredths is None else joint.remedy_hours_hundredths
            remedy = Remedy(joint.remedy, price.cash_hundredths, hours or 0, price.source)
            yield remedy if hours is not None else remedy.with_unpriced(f"hours of {joint.remedy}")

    def _worked(self, joint: JointKind) -> Iterable[Remedy]:
        """All its operations, as the price list has them, with the visits they need."""
        listed = self._index.catalogue.operation_prices
        if joint.remedy_operations and all(one in listed for one in joint.remedy_operations):
            done = [listed[one] for one in joint.remedy_operations]
            visits = [
                self._index.catalogue.tasks[task] for task in sorted({task for one in done for task in one.tasks})
            ]
            cash = sum(one.cash_hundredths for one in done) + sum(one.cash_hundredths or 0 for one in visits)
            works: list[OperationPrice | TaskKind] = [*done, *visits]
            hours = sum(one.hours_hundredths or 0 for one in works)
            lacks = [f"hours of {one.label}" for one in done if one.hours_hundredths is None]
            lacks += [what for one in visits for what in lacking_of_task(one)]
            yield Remedy(", ".join(one.label for one in done), cash, hours, "the shop's price list").with_unpriced(
                *lacks
            )

    def _usual(self, joint: JointKind) -> Remedy:
        cash, hours = joint.remedy_cash_hundredths, joint.remedy_hours_hundredths
        meant = joint.remedy.replace("; ", " or ") or f"a remedy at {joint.label}"
        lacks = [what for what, known in ((f"price of {meant}", cash), (f"hours of {meant}", hours)) if known is None]
        text = joint.remedy or f"no usual remedy is known for {joint.label}"
        source = f"usual for {joint.label}" if len(lacks) < 2 else ""
        return Remedy(text, cash or 0, hours or 0, source).with_unpriced(*lacks)

    def _hours_for(self, kind: str, joints: Iterable[JointKind]) -> int | None:
        kinds = self._index.kinds_of(kind)
        known = [
            j.remedy_hours_hundredths
            for j in joints
            if j.remedy_kind in kinds and j.remedy_hours_hundredths is not None
        ]
        return max(known, default=None)

    def _total(self, remedy: Remedy) -> int:
        return remedy.cash_hundredths * 100 + remedy.hours_hundredths * self._rate

    def _with_rate(self, remedy: Remedy) -> Remedy:
        return remedy.with_unpriced("the bench rate") if remedy.hours_hundredths and not self._rate else remedy


class UsualPrices:
    """What parts of a kind usually cost at this shop, kept with an index."""

    def __init__(self) -> None:
        self._known: dict[str, UsualPrice | None] = {}

    def of(self, index: CatalogueIndex, kind: str) -> UsualPrice | None:
        """The median of the shop's prices; None where there are too few."""
        if kind not in self._known:
            self._known[kind] = _median_price(index, kind)
        return self._known[kind]

    def handed_on(self, change: Change) -> None:
        """Looked up anew after a change: a record of cost gives prices to parts that the facts leave alone."""


def usual_prices(index: CatalogueIndex) -> UsualPrices:
    """Those kept with the index."""
    kept: UsualPrices = index.kept.setdefault(_KEPT, UsualPrices())
    return kept


def _median_price(index: CatalogueIndex, kind: str) -> UsualPrice | None:
    parts = map(index.catalogue.parts.__getitem__, evenly(index.parts_of_kind(kind), MOST_PRICES))
    priced = [part for part in parts if _has_price(part, index.catalogue)]
    if len(priced) < FEWEST_PRICES:
        return None
    cash = median_low([part.cash_hundredths or 0 for part in priced])
    told = [part.hours_hundredths for part in priced if part.hours_hundredths is not None]
    usual = index.catalogue.part_kinds[kind].usual_hours_hundredths if kind in index.catalogue.part_kinds else None
    hours = median_low(told) if len(told) >= FEWEST_PRICES else usual
    return UsualPrice(cash, hours, f"the median of {len(priced)} prices of this shop")


def _has_price(part: Part, catalogue: Catalogue) -> bool:
    condition = catalogue.part_conditions.get(part.condition)
    usable = not part.abstract and (condition is None or condition.usable)
    return usable and part.cash_hundredths is not None and part.currency in ("", catalogue.currency)

"""What renewing one worn part costs by itself: bought as it is or as what replaces it, else as its kind usually costs.

A price or hours that nobody states are None: never nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from graph.catalogue.model import SHIFTS, Part
from graph.catalogue.terms import TaskKind
from graph.lookups.index import CatalogueIndex
from graph.reading.remedies import usual_prices
from graph.wear.model import WearRow


@dataclass(frozen=True, slots=True)
class OwnPrice:
    """Whole hundredths of money and hours, None where nobody says; `source` in words.

    `part`: what is bought, in words, "" where nobody says which; `lead_days`: 0 where nobody states any; `in_stock`: it
    is on the shelf.
    """

    cash_hundredths: int | None
    hours_hundredths: int | None
    source: str
    part: str = ""
    lead_days: Fraction = Fraction(0)
    in_stock: bool = False

    @property
    def lacks(self) -> tuple[str, ...]:
        """Which of the two nobody has stated."""
        figures = (("price", self.cash_hundredths), ("hours", self.hours_hundredths))
        return tuple(what for what, stated in figures if stated is None)


class WearPrices:
    """Prices at one index, which has the shop's own record in it."""

    def __init__(self, index: CatalogueIndex):
        self._index, self._usual = index, usual_prices(index)

    def of(self, row: WearRow, part: str) -> OwnPrice:
        """`part`: what stays there, "" where nobody says or the row is of a piece of it."""
        bought = min(self._bought(part), key=lambda one: (one.cash_hundredths or 0, one.id), default=None)
        if bought is not None:
            condition = bought.condition.replace("-", " ")
            told = condition in ("", "unknown") or bought.label.endswith(condition)
            said = bought.label if told else f"{bought.label}, {condition}"
            return OwnPrice(
                bought.cash_hundredths, row.hours_hundredths, said, bought.label, bought.days, bought.in_stock
            )
        kind = self._index.catalogue.part_kinds.get(row.kind)
        if kind is None:
            return OwnPrice(None, row.hours_hundredths, "")
        usual = self._usual.of(self._index, kind.id)
        if usual is not None:
            return OwnPrice(usual.cash_hundredths, row.hours_hundredths, f"{kind.label}: {usual.source}")
        if kind.usual_cash_hundredths is not None:
            return OwnPrice(kind.usual_cash_hundredths, row.hours_hundredths, f"usual price of a kind: {kind.label}")
        return OwnPrice(None, row.hours_hundredths, "")

    def of_visits(self, visits: Iterable[TaskKind]) -> OwnPrice:
        """Work that is sent out. One without a price has none that is known."""
        every = list(visits)
        cash, told = [one.cash_hundredths or 0 for one in every], [one.hours_hundredths for one in every]
        hours = [one for one in told if one is not None]
        return OwnPrice(
            sum(cash) if all(one.cash_stated for one in every) else None,
            sum(hours) if len(hours) == len(told) else None,
            ", ".join(one.label for one in every),
        )  # fmt: skip

    def _is_alike(self, name: str, part: str) -> bool:
        known = self._index.catalogue.parts
        kinds = known[name].kind == known[part].kind
        return name == part or (kinds and self._moves(name) == self._moves(part))

    def _moves(self, part: str) -> set[tuple[str, int]]:
        return {(edge.target, edge.shift_um) for edge in self._index.side_effects(part) if edge.kind == SHIFTS}

    def _bought(self, part: str) -> Iterator[Part]:
        """The same part, and those of its kind that replace it and move no length otherwise, with a price in the shop's
        currency: what moves a length is another way to build the route, not a new part for an old one."""
        known = self._index.catalogue
        names = dict.fromkeys([part, *(edge.source for edge in self._index.replacing(part))]) if part else {}
        names = {name: None for name in names if self._is_alike(name, part)}
        for name in names:
            for _, one in self._index.descent(name):
                made = known.parts[one]
                condition = known.part_conditions.get(made.condition)
                usable = condition is None or condition.usable
                if usable and made.cash_hundredths is not None and made.currency in ("", known.currency):
                    yield made

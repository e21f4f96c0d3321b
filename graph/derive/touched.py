"""What a change of the facts touches of all that is computed: which readings, which parts, which pairs.

What is computed of a part rests on its own fields (but for its price), on readings and faces of it and its families, on
lengths that notes say it shifts, and on the notes about its pairs. A reading of a question rests besides on what the
units contain, and on what may stand inside a joint next to the parts around.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from graph.catalogue.model import CONTAINS, HAS_NONE, SHIFTS, Catalogue, Part
from graph.catalogue.relations import MATING
from graph.derive.joints.registry import JOINT_CHECKS
from graph.lookups.change import Change, below, mates_of_families
from graph.lookups.index import CatalogueIndex
from graph.made.kinds import MADE_KINDS
from graph.plates.bill import RATES

# What computed edges are made by besides prices. Where one of these tables is another, everything is computed anew.
GROUND = (
    "part_kinds", "position_kinds", "joint_kinds", "chain_kinds", "quantities", "evidence_levels", "standard_prices",
)  # fmt: skip


def has_same_ground(before: Catalogue, after: Catalogue) -> bool:
    """Do the catalogues have these tables alike?"""
    tables = ((getattr(before, name), getattr(after, name)) for name in GROUND)
    return all(old is new or old == new for old, new in tables)


def changed_operations(before: Catalogue, after: Catalogue) -> frozenset[str]:
    """The operations whose prices differ."""
    old, new = before.operation_prices, after.operation_prices
    return frozenset(one for one in old.keys() | new.keys() if old.get(one) != new.get(one)) if old is not new \
        else frozenset()  # fmt: skip


def hours_of_made_kinds(change: Change) -> frozenset[str]:
    """The rates, where a part of a kind that is also made states other hours: what fitting a made one takes goes by
    them (graph/derive/made_prices.py)."""
    adaptors = (check.adaptor.part_kind for check in JOINT_CHECKS.values() if check.adaptor is not None)
    kinds = {*(kind.part_kind for kind in MADE_KINDS.values()), *adaptors}
    for name in change.parts:
        old, new = (index.catalogue.parts.get(name) for index in (change.before, change.after))
        hours = {one.hours_hundredths for one in (old, new) if one is not None and one.kind in kinds}
        if len(hours) > 1 or (hours and (old is None or new is None)):
            return frozenset(RATES)
    return frozenset()


def touched_pairs(change: Change, owners: Iterable[str]) -> set[str]:
    """Parts (families among them) whose every pair has to be looked at anew. `owners`: measured anew.

    Of a pair of which another thing is noted it is the one of which less is said: a standard bearing mates with
    thousands.
    """
    found: set[str] = set()
    for part in (*owners, *filter(lambda name: _is_other(change, name), change.parts)):
        found |= change.variants(part)
    for index, edge in change.versions(change.edges):
        if edge.kind == SHIFTS:
            found |= change.variants(edge.source)
        elif edge.kind in MATING and edge.joint in JOINT_CHECKS:
            ends = sorted((edge.source, edge.target), key=lambda end: _said(index, end, edge.joint))
            found |= change.variants(ends[0])
    return found


def _said(index: CatalogueIndex, part: str, joint: str) -> int:
    return index.count_statements(part, joint)


def _is_other(change: Change, name: str) -> bool:
    """Is more than its price another?"""
    old, new = (index.catalogue.parts.get(name) for index in (change.before, change.after))
    return old is None or new is None or _but_for_price(old) != _but_for_price(new)


def _but_for_price(part: Part) -> Part:
    return replace(
        part, cash_hundredths=None, currency="", days=_NO_DAYS, condition="", in_stock=False, price_source="", note=""
    )


_NO_DAYS = Fraction(0)


def touched_around(change: Change, pairs: set[str]) -> set[str]:
    """Parts and units around which something is other now, `pairs` among them."""
    found = set(pairs)
    for _, edge in change.versions(change.edges):
        if edge.kind in MATING:
            found |= change.variants(edge.source) | change.variants(edge.target)
        elif edge.kind in (CONTAINS, HAS_NONE):
            found |= change.variants(edge.source)
    for name in [*found]:
        for index in (change.before, change.after):
            known = index.catalogue.parts.get(name)
            if known is not None and index.is_inside(known.kind):
                for _, far in mates_of_families(index, name):
                    found |= below(index, far)
    return found

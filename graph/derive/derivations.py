"""What is kept with an index of all that is computed, and how it is handed on to the next one.

Findings of pairs (graph/derive/kept.py), who can hold the places of joints that can be computed, and what follows
around each combination of units. Nothing in here holds an index: an old one goes with the last question put to it.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from threading import Lock

from graph.catalogue.layered import Pieced
from graph.catalogue.model import Catalogue
from graph.derive.joints.registry import JOINT_CHECKS
from graph.derive.kept import KeptFindings
from graph.derive.measured import Measured, MeasuredFacts
from graph.derive.remeasured import read_remeasured
from graph.derive.touched import changed_operations, has_same_ground, hours_of_made_kinds, touched_around, touched_pairs
from graph.fits.tables import load_tables
from graph.lookups.change import Change
from graph.lookups.findings import Derived
from graph.lookups.index import CatalogueIndex

MOST_KEPT = 200  # combinations of units
MOST_FINDINGS = 100_000  # that these come to
Units = tuple[tuple[str, ...], tuple[str, ...]]  # those asked about, and the parts in hand
Holders = Mapping[str, Pieced[str, None]]


@dataclass(frozen=True, slots=True)
class DerivedAround:
    """What follows around some units. `near`: these, the parts found in them and those in hand."""

    derived: Derived
    near: frozenset[str]

    @property
    def weight(self) -> int:
        """How much it holds."""
        return len(self.derived.findings) + len(self.derived.unknowns)


class Derivations:
    """What is kept for one index. `holders`: per position, the measured parts that can hold it and have a price."""

    def __init__(self, findings: KeptFindings, holders: Holders, around: Iterable[tuple[Units, DerivedAround]] = ()):
        self.findings, self.holders = findings, holders
        self._around = OrderedDict(around)
        self._weight = sum(one.weight for one in self._around.values())
        self._lock = Lock()

    @classmethod
    def of(cls, index: CatalogueIndex) -> Derivations:
        """Of an index that takes over from none."""
        facts = MeasuredFacts.of(index.catalogue)
        counting = dict.fromkeys(Measured(index, load_tables(), facts, {}).list_counting())
        holders: dict[str, dict[str, None]] = {position: {} for position in _places(index.catalogue)}
        for part in counting:
            for position in _held(index, part):
                holders[position][part] = None
        pieced = {position: Pieced(held) for position, held in holders.items()}
        return cls(KeptFindings(replace(facts, parts=Pieced(counting))), pieced)

    def find(self, units: Units) -> DerivedAround | None:
        """What follows around the units, where it is known."""
        with self._lock:
            if units in self._around:
                self._around.move_to_end(units)
            return self._around.get(units)

    def keep(self, units: Units, found: DerivedAround) -> None:
        """Keeps it; what was not asked for longest is forgotten."""
        with self._lock:
            self._weight += found.weight - (self._around[units].weight if units in self._around else 0)
            self._around[units] = found
            while len(self._around) > 1 and (len(self._around) > MOST_KEPT or self._weight > MOST_FINDINGS):
                self._weight -= self._around.popitem(last=False)[1].weight

    def handed_on(self, change: Change) -> Derivations | None:
        """For the index after the change, without what it touched; None where the kinds of facts are other ones."""
        before, after = change.before.catalogue, change.after.catalogue
        if not has_same_ground(before, after):
            return None
        remeasured = read_remeasured(before, after)
        pairs = touched_pairs(change, remeasured.owners)
        operations = changed_operations(before, after) | hours_of_made_kinds(change)
        facts = self.findings.facts.changed(remeasured)
        measured = Measured(change.after, load_tables(), facts, self.findings.bearing_parts)
        counting = {part: None for part in pairs if measured.counts(part)}
        facts = replace(facts, parts=facts.parts.changed(counting, pairs))
        findings = self.findings.handed_on(facts, pairs, operations)
        holders = self._holders_after(change, pairs, findings)
        around = touched_around(change, pairs)
        everywhere = operations or any(
            one is not other or any(part in other for part in around) for one, other in _both(self.holders, holders)
        )
        return Derivations(findings, holders, () if everywhere else self._beside(around))

    def _beside(self, touched: set[str]) -> list[tuple[Units, DerivedAround]]:
        """What follows around units that nothing touched is near to."""
        with self._lock:
            return [(units, found) for units, found in self._around.items() if touched.isdisjoint(found.near)]

    def _holders_after(self, change: Change, pairs: set[str], findings: KeptFindings) -> Holders:
        old, new = self.findings.facts.parts, findings.facts.parts
        come: dict[str, dict[str, None]] = {}
        gone: dict[str, list[str]] = {}
        for part in pairs.union(change.parts, change.repriced):
            was = _held(change.before, part) if part in old else ()
            now = _held(change.after, part) if part in new else ()
            for position in set(was).difference(now):
                gone.setdefault(position, []).append(part)
            for position in set(now).difference(was):
                come.setdefault(position, {})[part] = None
        return {
            position: held.changed(come.get(position, {}), gone.get(position, ()))
            if position in come or position in gone else held
            for position, held in self.holders.items()
        }  # fmt: skip


def _both(before: Holders, after: Holders) -> Iterator[tuple[Pieced[str, None], Pieced[str, None]]]:
    return ((before[position], after[position]) for position in before)


def _places(catalogue: Catalogue) -> list[str]:
    """The positions of the joints that can be computed."""
    joints = [catalogue.joint_kinds[joint] for joint in JOINT_CHECKS if joint in catalogue.joint_kinds]
    return list(dict.fromkeys(position for joint in joints for position in joint.between))


def list_places(index: CatalogueIndex, part: str) -> list[str]:
    """Those of these positions that the part can hold."""
    kinds, known = index.kinds_of(index.catalogue.parts[part].kind), index.catalogue.position_kinds
    return [position for position in _places(index.catalogue) if not kinds.isdisjoint(known[position].part_kinds)]


def _held(index: CatalogueIndex, part: str) -> list[str]:
    """The same of a part that can be bought; none of any other."""
    return list_places(index, part) if index.catalogue.parts[part].cash_hundredths is not None else []

"""What is asked: the complaint, what was found so far, and what of the job is known. Checked in one place."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

from graph.catalogue.model import Catalogue
from graph.catalogue.near import near_matches
from graph.catalogue.terms import ChainKind
from graph.complaints.model import ABOVE, BELOW, EITHER, NEAR, OUTSIDE, WITHIN, Cause, Trade
from graph.errors import InvalidInput, NotFound, Problem
from graph.fits.quantity import quantity_of
from graph.lookups.index import CatalogueIndex

NEAR_UM = 1000  # common practice: under 1 mm from a limit, measure again
MOST_COMPLAINTS = 4
YES, NO = "yes", "no"


@dataclass(frozen=True, slots=True)
class Enquiry:
    """`complaints`: ids; `findings`: test -> yes or no; `opened`: tasks that are open, so their hours are spent.

    `gearbox`, `engine`: which ones, so that the shop's odds and prices count; "" for any. `measured`: dimension (id or
    label of a chain kind) -> a length with its unit, as this job was built.
    """

    complaints: tuple[str, ...]
    findings: Mapping[str, str] = field(default_factory=dict)
    opened: tuple[str, ...] = ()
    gearbox: str = ""
    engine: str = ""
    measured: Mapping[str, str] = field(default_factory=dict)

    @property
    def units(self) -> tuple[str, ...]:
        """The units that are named."""
        return tuple(filter(None, (self.gearbox, self.engine)))


@dataclass(frozen=True, slots=True)
class ReadLength:
    """A dimension as built: its kind, its length in micrometres, and the text as read."""

    chain: ChainKind
    um: int
    text: str


def check(enquiry: Enquiry, index: CatalogueIndex, trade: Trade) -> None:
    """Raises NotFound for an unknown id, InvalidInput for what cannot be weighed."""
    if not 0 < len(set(enquiry.complaints)) <= MOST_COMPLAINTS:
        raise InvalidInput([Problem("complaints", f"expected one to {MOST_COMPLAINTS} complaints")])
    for one in enquiry.complaints:
        _known("complaint", one, trade.complaints)
    for one, answer in enquiry.findings.items():
        _known("test", one, trade.tests)
        if answer not in (YES, NO):
            raise InvalidInput([Problem(f"findings.{one}", f"expected yes or no, found {answer!r}")])
    for one in enquiry.opened:
        _known("task", one, index.catalogue.tasks)
    for what, unit in (("gearbox", enquiry.gearbox), ("engine", enquiry.engine)):
        part = index.catalogue.parts.get(unit)
        if unit and (part is None or what not in index.kinds_of(part.kind)):
            raise NotFound(what, unit, near_matches(unit, index.units(what)))


def _known(what: str, one: str, known: Mapping[str, object]) -> None:
    if one not in known:
        raise NotFound(what, one, near_matches(one, known))


def lengths_read(measured: Mapping[str, str], catalogue: Catalogue) -> tuple[ReadLength, ...]:
    """The readings as lengths. Raises NotFound for another dimension, InvalidInput for no length with a unit."""
    read = [_length(what, text, catalogue) for what, text in sorted(measured.items())]
    for at, one in enumerate(read):
        for other in read[:at]:
            if other.chain.id == one.chain.id and other.um != one.um:
                text = f"{one.chain.label} is given twice, {other.text} and {one.text}: which was read?"
                raise InvalidInput([Problem(f"measured.{one.chain.id}", text)])
    return tuple(read)


def _length(what: str, text: str, catalogue: Catalogue) -> ReadLength:
    chain = find_chain(what, catalogue)
    if chain is None:
        raise NotFound("dimension", what, near_matches(what, catalogue.chain_kinds))
    return ReadLength(chain, round(quantity_of(text, path=f"measured.{what}").nm / 1000), text)


def find_chain(what: str, catalogue: Catalogue) -> ChainKind | None:
    """The dimension of that id or name, as somebody wrote it on a measuring sheet."""
    wanted = " ".join(what.casefold().replace("-", " ").split())
    for chain in catalogue.chain_kinds.values():
        if wanted in (chain.id.replace("-", " "), chain.label.casefold().replace("-", " ")):
            return chain
    return None


def state_of(cause: Cause, lengths: Iterable[ReadLength]) -> tuple[str, ReadLength] | None:
    """How the reading of the cause's dimension stands to the limit on the cause's side; None where there is none."""
    for one in lengths:
        rooms = [room for room in _rooms(cause.side, one) if room is not None]
        if one.chain.id == cause.chain and rooms:
            room = min(rooms)
            return (OUTSIDE if room < 0 else NEAR if room < NEAR_UM else WITHIN), one
    return None


def _rooms(side: str, read: ReadLength) -> Collection[int | None]:
    """What is left to the limits that the side asks for, in micrometres."""
    low = None if read.chain.low_um is None else read.um - read.chain.low_um
    high = None if read.chain.high_um is None else read.chain.high_um - read.um
    return {BELOW: (low,), ABOVE: (high,), EITHER: (low, high)}.get(side, ())

"""Statements of things that a shop adds by a form: parts and units. Ids are made here.

An id comes from the name, so that addresses can be read; where it is taken, a number follows it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import count

import pyoxigraph as ox

from graph.catalogue.model import Catalogue
from graph.catalogue.names import KIND, LABEL, LAY, TYPE, XSD
from graph.ledger.statements import triples_of

LONGEST_ID = 60
_TABLES = (
    "parts", "edges", "part_kinds", "position_kinds", "joint_kinds", "chain_kinds", "tasks", "features",
    "evidence_levels", "part_conditions", "notes", "faults", "inspections", "quantities", "measurements", "bolt_faces",
    "assemblies",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPart:
    """A part or unit to be added. `kind`, `condition`: IRIs; `cash`: a decimal, in `currency`; `hours`: a decimal,
    of fitting it, "" where not stated; `like`: a part's id."""

    id: str
    label: str
    kind: str
    number: str = ""
    condition: str = ""
    cash: str = ""
    currency: str = ""
    hours: str = ""
    like: str = ""


def id_from(label: str, known: Catalogue, besides: frozenset[str] = frozenset()) -> str:
    """An id for a thing of this name that nothing has yet; `besides`: ids that are being given at the same time.

    >>> id_from("Föhn 5, late case", Catalogue())
    'fohn-5-late-case'
    """
    plain = unicodedata.normalize("NFKD", label).encode("ascii", "ignore").decode().casefold()
    name = re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_ID].strip("-") or "part"
    for number in count(1):
        found = name if number == 1 else f"{name}-{number}"
        if found not in besides and not any(found in getattr(known, table) for table in _TABLES):
            return found
    raise AssertionError("unreachable")


def part_triples(part: NewPart, base: str) -> Iterator[ox.Triple]:
    """What is stated of a new part."""
    subject = ox.NamedNode(base + part.id)
    yield ox.Triple(subject, ox.NamedNode(TYPE), ox.NamedNode(LAY + "Part"))
    yield ox.Triple(subject, ox.NamedNode(LABEL), ox.Literal(part.label))
    yield ox.Triple(subject, ox.NamedNode(LAY + "kind"), ox.NamedNode(part.kind))
    if part.number:
        yield ox.Triple(subject, ox.NamedNode(LAY + "number"), ox.Literal(part.number))
    if part.condition:
        yield ox.Triple(subject, ox.NamedNode(LAY + "partCondition"), ox.NamedNode(part.condition))
    if part.like:
        yield ox.Triple(subject, ox.NamedNode(LAY + "variantOf"), ox.NamedNode(_whole(part.like, base)))
    if part.cash:
        amount = ox.Literal(part.cash, datatype=ox.NamedNode(XSD + "decimal"))
        yield ox.Triple(subject, ox.NamedNode(LAY + "cash"), amount)
        yield ox.Triple(subject, ox.NamedNode(LAY + "currency"), ox.Literal(part.currency))
    if part.hours:
        hours = ox.Literal(part.hours, datatype=ox.NamedNode(XSD + "decimal"))
        yield ox.Triple(subject, ox.NamedNode(LAY + "hours"), hours)


def stated_parts(statements: str) -> Iterator[ox.Triple]:
    """The statements of parts among those of a note."""
    triples = list(triples_of(statements))
    parts = {t.subject for t in triples if t.predicate.value == TYPE and t.object == ox.NamedNode(LAY + "Part")}
    return (triple for triple in triples if triple.subject in parts)


def kind_iri(kind: str, base: str, trades: Mapping[str, object]) -> str:
    """The IRI of a kind of thing. `trades`: the trade's own, by id; any other is the shop's, under its base."""
    return kind if "://" in kind else (KIND if kind in trades else base) + kind


def _whole(part: str, base: str) -> str:
    return part if "://" in part else base + part

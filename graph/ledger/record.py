"""What one line of the ledger holds, and the bytes that its hash is taken over.

The canonical record is JSON with sorted keys and no spaces (RFC 8785 for the types used here: text, whole
numbers, booleans and lists of text). The hash of line n is SHA-256 over the hash of line n-1, a line feed
and the canonical record, so no earlier line can change, vanish or move unseen.

A line is a note's, or it vouches for rows that stand elsewhere: notes of cost, or an attachment. `covers` then holds
their number and digest (see covered.py); where it is empty it is left out of the record, as it was before it existed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from graph.ledger.identity import revision_iri

NOTE, REVISE, RETRACT = "note", "revise", "retract"
COST, ATTACHMENT = "cost", "attachment"
NOTE_ACTIONS = (NOTE, REVISE, RETRACT)
ACTIONS = (*NOTE_ACTIONS, COST, ATTACHMENT)
GENESIS = "0" * 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A note as its writer hands it in.

    `statements`: canonical N-Triples (see statements.py). `evidence`: an evidence level's id. `made_at`: when
    it was found out, ISO 8601 (empty: when it is recorded). `document`: IRI or title of what it rests on.
    `settles`: IRIs of notes whose dispute this note settles. `recorded_by`: the name on the access token.
    """

    text: str = ""
    statements: str = ""
    author: str = ""
    evidence: str = ""
    method: str = ""
    job: str = ""
    document: str = ""
    made_at: str = ""
    settles: tuple[str, ...] = ()
    shareable: bool = False
    recorded_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of the ledger, at its position in the chain: a revision of a note, or what vouches for other rows."""

    position: int
    note_id: str
    iri: str
    revision: int
    action: str
    recorded_at: str
    made_at: str
    text: str
    statements: str
    author: str
    evidence: str
    method: str
    job: str
    document: str
    settles: tuple[str, ...]
    shareable: bool
    recorded_by: str
    covers: str = ""
    previous_hash: str = GENESIS
    hash: str = ""

    @property
    def is_note(self) -> bool:
        """Whether the line is a note's."""
        return self.action in NOTE_ACTIONS

    @property
    def retracted(self) -> bool:
        """Whether this line takes the note back."""
        return self.action == RETRACT

    @property
    def revises(self) -> str:
        """The IRI of the revision that this one stands in for; empty for a first one."""
        return revision_iri(self.iri, self.revision - 1) if self.revision > 1 else ""


ENTRY_FIELDS = tuple(field.name for field in fields(Entry))
RECORD_FIELDS = tuple(name for name in ENTRY_FIELDS if name not in ("covers", "previous_hash", "hash"))
DRAFT_FIELDS = tuple(field.name for field in fields(Draft))


def canonical_record(entry: Entry) -> bytes:
    """The bytes that stand for everything the line says, except the two hashes."""
    return _record({name: getattr(entry, name) for name in ENTRY_FIELDS})


def _record(values: Mapping[str, Any]) -> bytes:
    record = {name: values[name] for name in RECORD_FIELDS}
    return canonical_json(record | {"covers": values["covers"]} if values.get("covers") else record)


def canonical_json(values: Mapping[str, Any]) -> bytes:
    """The bytes that a hash is taken over."""
    return json.dumps(values, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def chained_hash(previous_hash: str, entry: Entry) -> str:
    """The hash that the line must carry if it follows the line with `previous_hash`."""
    return hashlib.sha256(previous_hash.encode() + b"\n" + canonical_record(entry)).hexdigest()


def hash_of(previous_hash: str, values: Mapping[str, Any]) -> str:
    """The same from a line's values by name, before it is an entry."""
    return hashlib.sha256(previous_hash.encode() + b"\n" + _record(values)).hexdigest()


def draft_of(entry: Entry) -> Draft:
    """What a writer would hand in to say the same again."""
    return Draft(**{name: getattr(entry, name) for name in DRAFT_FIELDS})

"""Stable names: time-ordered ids (RFC 9562, version 7) and the IRIs of notes, their revisions and people.

No blank node ever enters the ledger: what a writer left unnamed gets a name under its note (RDF 1.1
Concepts, section 3.5, "Replacing Blank Nodes with IRIs"), so two shops' notes never clash when merged.
"""

from __future__ import annotations

import hashlib
import os
import re
import time
import uuid
from urllib.parse import quote, urlsplit

from graph.errors import InvalidInput, Problem

VOCABULARY = "https://layshaft.example/vocabulary#"
KINDS = "https://layshaft.example/kinds/"
DEFAULT_BASE = "https://shop.example/"
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_NOTE_IRI = re.compile(r"^[a-z][a-z0-9+.-]*://[^<>\"{}|^`\\\s]*/notes/(?P<id>" + _UUID.pattern + r")(?:/.*)?$")


def new_id() -> str:
    """A UUID of version 7: 48 bits of milliseconds, then 74 random bits. Later ids sort after earlier ones.

    Source: RFC 9562, section 5.7.
    """
    value = (time.time_ns() // 1_000_000) << 80 | int.from_bytes(os.urandom(10), "big")
    value = value & ~(0xF << 76) | 0x7 << 76
    value = value & ~(0x3 << 62) | 0x2 << 62
    return str(uuid.UUID(int=value))


def id_for(text: str) -> str:
    """The same id for the same text, every time (RFC 9562, section 5.5, over the URL namespace)."""
    return str(uuid.uuid5(uuid.NAMESPACE_URL, text))


def checked_base(base: str) -> str:
    """The shop's base IRI, ending in `/` or `#`. Raises InvalidInput for anything else."""
    parts = urlsplit(base)
    if parts.scheme not in ("http", "https") or not parts.hostname or base[-1] not in "/#":
        raise InvalidInput(
            [
                Problem(
                    "base",
                    f"expected an http(s) IRI that ends in / or #, found {base!r}",
                )
            ]
        )
    return base


def names_note(name: str) -> bool:
    """Whether an id is that of a note of the ledger, or of what belongs to one."""
    return _UUID.search(name) is not None


def note_iri(base: str, note_id: str) -> str:
    """The note's IRI, which is also the name of its graph."""
    return f"{base}notes/{note_id}"


def revision_iri(iri: str, revision: int) -> str:
    """The IRI of one numbered revision of a note."""
    return f"{iri}/revisions/{revision}"


def agent_iri(base: str, author: str) -> str:
    """The IRI that stands for an author under the shop's base."""
    return f"{base}people/{quote(author, safe='')}"


def find_note_id(iri: str) -> str | None:
    """The note id inside a note's (or its revision's) IRI; None for any other IRI.

    >>> find_note_id("https://shop.example/notes/0190c1a0-0000-7000-8000-000000000001/revisions/2")
    '0190c1a0-0000-7000-8000-000000000001'
    """
    match = _NOTE_IRI.match(iri)
    return match["id"] if match else None


def digest(data: bytes | str) -> str:
    """SHA-256 as 64 hexadecimal digits."""
    return hashlib.sha256(data.encode() if isinstance(data, str) else data).hexdigest()

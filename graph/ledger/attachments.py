"""Photos and papers that notes rest on, kept in the ledger's database under the hash of their content.

The same file is kept once; a note names it as its `document` by IRI. The type is judged by the content, not by what
the sender says, and only types that a browser shows without running anything in them are taken.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sqlalchemy import insert, select

from graph.errors import InvalidInput, NotFound, Problem
from graph.guarded.pictures import find_media_type
from graph.ledger.book import Ledger
from graph.ledger.covered import covers_of_file
from graph.ledger.database import reading
from graph.ledger.drafts import now
from graph.ledger.identity import digest, new_id
from graph.ledger.lines import line_values
from graph.ledger.record import ATTACHMENT, Draft
from graph.ledger.schema import attachments
from graph.plain_text import fault_of_text

MAX_BYTES = 25_000_000
MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class Attachment:
    """What is known of a kept file; `iri` is what a note names as its document."""

    hash: str
    media_type: str
    size: int
    name: str
    recorded_at: str
    iri: str


def check(content: bytes, stated_type: str, name: str) -> str:
    """The media type of a file that may be kept. Raises InvalidInput for a wrong type, size or name."""
    media_type = find_media_type(content)
    problems = []
    if not 0 < len(content) <= MAX_BYTES:
        problems.append(Problem("body", f"{len(content):,} bytes; expected 1 to {MAX_BYTES:,}"))
    if media_type is None:
        problems.append(Problem("body", "expected a JPEG, PNG or WebP picture or a PDF"))
    elif stated_type and stated_type != media_type:
        problems.append(Problem("Content-Type", f"says {stated_type}, the content is {media_type}"))
    if fault := fault_of_text(name):
        problems.append(Problem("name", fault))
    if problems or media_type is None:
        raise InvalidInput(problems)
    return media_type


def keep(ledger: Ledger, content: bytes, stated_type: str, name: str) -> Attachment:
    """Keeps a file as it is; a second time changes nothing. Raises InvalidInput for a wrong type, size or name.

    What a person or a program hands in goes through photos.keep_photo, which takes out what a camera says besides.
    """
    media_type = check(content, stated_type, name)
    key = digest(content)
    row = {"hash": key, "media_type": media_type, "size": len(content), "name": name[:200], "recorded_at": now()}
    with ledger.appending() as under_lock:
        kept = select(attachments.c.hash).where(attachments.c.hash == key)
        if under_lock.connection.scalar(kept) is None:
            under_lock.connection.execute(insert(attachments).values(**row, content=content))
            said = Draft(text=name[:200], document=_iri(ledger, key), made_at=str(row["recorded_at"]))
            line_id = new_id()
            line = line_values(line_id, f"{ledger.base}kept/{line_id}", 1, ATTACHMENT, said)
            under_lock.write([line | {"covers": covers_of_file(row)}])
    return get(ledger, key)[0]


def _iri(ledger: Ledger, key: str) -> str:
    return f"{ledger.base}attachments/{key}"


def get(ledger: Ledger, key: str) -> tuple[Attachment, bytes]:
    """A kept file and its content, checked against its hash. Raises NotFound."""
    with reading(ledger.engine) as connection:
        row = connection.execute(select(attachments).where(attachments.c.hash == key)).mappings().first()
    if row is None or digest(row["content"]) != key:
        raise NotFound("attachment", key)
    known = {name: row[name] for name in ("hash", "media_type", "size", "name", "recorded_at")}
    return Attachment(**known, iri=_iri(ledger, key)), row["content"]


def find(ledger: Ledger, iri: str) -> Attachment | None:
    """What is known of the kept file that a note names as its document; None where it is something else."""
    key = iri.removeprefix(_iri(ledger, ""))
    if key == iri or len(key) != 64:
        return None
    columns = [attachments.c[name] for name in ("hash", "media_type", "size", "name", "recorded_at")]
    with reading(ledger.engine) as connection:
        row = connection.execute(select(*columns).where(attachments.c.hash == key)).mappings().first()
    return Attachment(**row, iri=iri) if row else None


def named_in(ledger: Ledger, text: str) -> tuple[Attachment, ...]:
    """The kept files that a note's words name by their IRI, besides the one it rests on; at most MOST_NAMED."""
    iris = re.findall(re.escape(_iri(ledger, "")) + r"[0-9a-f]{64}(?![0-9a-f])", text)
    found = (find(ledger, iri) for iri in list(dict.fromkeys(iris))[:MOST_NAMED])
    return tuple(one for one in found if one is not None)

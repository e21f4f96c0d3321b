"""What a note must satisfy before it may enter the ledger, whoever wrote it."""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import UTC, datetime

from graph.errors import InvalidFacts, Problem
from graph.ledger.record import Draft

MAX_TEXT = 20_000
MAX_FIELD = 500
MAX_SETTLES = 50
_SHORT = ("author", "evidence", "method", "job", "document", "made_at", "recorded_by")
# What XML 1.0 (section 2.2) has no room for, and DEL: no export in RDF/XML, XLSX or SVG could be read with it, and
# PostgreSQL keeps no NUL in a text.
_UNREADABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


def check_draft(draft: Draft, levels: Collection[str] = ()) -> None:
    """Raises InvalidFacts with every fault of the note's own fields. `levels`: evidence ids (empty: any)."""
    problems = [p for name in ("text", *_SHORT) for p in _field_problems(name, getattr(draft, name))]
    if not draft.text.strip() and not draft.statements:
        problems.append(Problem("text", "the note says nothing: give a text or statements"))
    if draft.evidence and levels and draft.evidence not in levels:
        problems.append(
            Problem(
                "evidence",
                f"{draft.evidence!r} is no level; expected one of {', '.join(sorted(levels))}",
            )
        )
    if len(draft.settles) > MAX_SETTLES:
        problems.append(Problem("settles", f"{len(draft.settles)} notes; at most {MAX_SETTLES}"))
    try:
        moment(draft.made_at)
    except ValueError:
        problems.append(
            Problem(
                "made_at",
                f"expected a date like 2024-05-01 or a time with zone, found {draft.made_at!r}",
            )
        )
    if problems:
        raise InvalidFacts(problems)


def _field_problems(name: str, value: str) -> list[Problem]:
    limit = MAX_TEXT if name == "text" else MAX_FIELD
    if len(value) > limit:
        return [Problem(name, f"{len(value):,} characters; at most {limit:,}")]
    fault = fault_of_text(value)
    return [Problem(name, fault)] if fault else []


def fault_of_text(value: str) -> str:
    """Why a text may not be kept: it holds a character that exports and databases cannot hold. Empty for none.

    >>> fault_of_text("16.05" + chr(0))
    'holds a control character (U+0000, at character 6); plain text only'
    """
    found = _UNREADABLE.search(value)
    if found is None:
        return ""
    return f"holds a control character (U+{ord(found[0]):04X}, at character {found.start() + 1}); plain text only"


def moment(text: str) -> str:
    """The time in UTC with microseconds, `2024-05-01T00:00:00.000000Z`; empty stays empty.

    A date means its first moment, a time without zone UTC. Raises ValueError for other text.

    >>> moment("2024-05-01T10:00:00+02:00")
    '2024-05-01T08:00:00.000000Z'
    """
    if not text:
        return ""
    value = datetime.fromisoformat(text)
    value = value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
    return value.isoformat(timespec="microseconds").replace("+00:00", "Z")


def now() -> str:
    """This moment, as the ledger writes it."""
    return moment(datetime.now(UTC).isoformat())

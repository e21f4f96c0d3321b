"""What a note must satisfy before it may enter the ledger, whoever wrote it."""

from __future__ import annotations

from collections.abc import Collection
from datetime import UTC, datetime

from graph.errors import InvalidFacts, Problem
from graph.ledger.record import Draft
from graph.plain_text import fault_of_text

MAX_TEXT = 20_000
MAX_FIELD = 500
MAX_SETTLES = 50
_SHORT = ("author", "evidence", "method", "job", "document", "made_at", "recorded_by")


def check_draft(draft: Draft, levels: Collection[str] = ()) -> None:
    """Raises InvalidFacts with every fault of the note's own fields. `levels`: evidence ids (empty: any)."""
    problems = text_problems(draft)
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


def text_problems(draft: Draft) -> list[Problem]:
    """Texts that are too long, or hold what no export or database can hold."""
    problems = [p for name in ("text", *_SHORT) for p in _field_problems(name, getattr(draft, name))]
    for number, iri in enumerate(draft.settles[:MAX_SETTLES]):
        problems += _field_problems(f"settles[{number}]", iri)
    return problems


def _field_problems(name: str, value: str) -> list[Problem]:
    limit = MAX_TEXT if name == "text" else MAX_FIELD
    if len(value) > limit:
        return [Problem(name, f"{len(value):,} characters; at most {limit:,}")]
    fault = fault_of_text(value)
    return [Problem(name, fault)] if fault else []


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

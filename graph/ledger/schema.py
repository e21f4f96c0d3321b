"""The ledger's tables. The migrations create them; nothing else may."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

REVISIONS = ("0001", "0002", "0003", "0004")  # of the migrations, in order
REVISION = REVISIONS[-1]
metadata = MetaData()

entries = Table(
    "entries", metadata,
    Column("position", BigInteger, primary_key=True, autoincrement=False),
    Column("note_id", String(36), nullable=False),
    Column("iri", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("action", String(10), nullable=False),
    Column("recorded_at", String(32), nullable=False),
    Column("made_at", String(40), nullable=False),
    Column("text", Text, nullable=False),
    Column("statements", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("evidence", Text, nullable=False),
    Column("method", Text, nullable=False),
    Column("job", Text, nullable=False),
    Column("document", Text, nullable=False),
    Column("settles", Text, nullable=False),
    Column("shareable", Boolean, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("covers", Text, nullable=False, server_default=""),
    Column("previous_hash", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
    UniqueConstraint("note_id", "revision", name="one_line_per_revision"),
    Index("entries_recorded_at", "recorded_at"),
)  # fmt: skip

# One row. Writers lock it, so positions have no gaps and the chain never forks.
head = Table(
    "head", metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("position", BigInteger, nullable=False),
    Column("hash", String(64), nullable=False),
    Column("recorded_at", String(32), nullable=False),
    Column("base", Text, nullable=False),
)  # fmt: skip

idempotency_keys = Table(
    "idempotency_keys", metadata,
    Column("key", String(255), primary_key=True),
    Column("request_hash", String(64), nullable=False),
    Column("first_position", BigInteger, nullable=False),
    Column("last_position", BigInteger, nullable=False),
)  # fmt: skip

tokens = Table(
    "tokens", metadata,
    Column("id", String(36), primary_key=True),
    Column("name", Text, nullable=False),
    Column("role", String(10), nullable=False),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("made_at", String(32), nullable=False),
    Column("revoked_at", String(32), nullable=False),
)  # fmt: skip

# Browsers that have signed in. They come and go; a backup leaves them out (PASSING).
sessions = Table(
    "sessions", metadata,
    Column("key", String(64), primary_key=True),
    Column("token_id", String(36), nullable=False),
    Column("until", BigInteger, nullable=False),
    Index("sessions_token_id", "token_id"),
)  # fmt: skip
PASSING = (sessions.name,)

# What the shop learns about cost (graph/costing): each row under the line that vouches for it, `position`, as its
# `number` there. `hash`: of the row, see covered.py.
cost_notes = Table(
    "cost_notes", metadata,
    Column("position", BigInteger, primary_key=True, autoincrement=False),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("id", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("made_on", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("method", Text, nullable=False),
    Column("evidence", Text, nullable=False),
    Column("job", Text, nullable=False),
    Column("batch", Text, nullable=False),
    Column("retracts", Text, nullable=False),
    Column("hash", String(64), nullable=False),
    UniqueConstraint("id", name="one_cost_note_per_id"),
    Index("cost_notes_kind", "kind", "position"),
    Index("cost_notes_about", "about"),
    Index("cost_notes_job", "job"),
    Index("cost_notes_batch", "batch"),
)  # fmt: skip

attachments = Table(
    "attachments", metadata,
    Column("hash", String(64), primary_key=True),
    Column("media_type", String(100), nullable=False),
    Column("size", BigInteger, nullable=False),
    Column("name", Text, nullable=False),
    Column("recorded_at", String(32), nullable=False),
    Column("content", LargeBinary, nullable=False),
)  # fmt: skip

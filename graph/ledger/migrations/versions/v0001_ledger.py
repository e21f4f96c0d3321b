"""The first tables: lines of the ledger, its head, idempotency keys, tokens, attachments.

Written out in full: a migration says what was true then, so it does not read schema.py.
Triggers refuse UPDATE and DELETE on the lines: a ledger only grows.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_TEXTS = (
    "made_at",
    "text",
    "statements",
    "author",
    "evidence",
    "method",
    "job",
    "document",
    "settles",
    "recorded_by",
)


def upgrade() -> None:
    op.create_table(
        "entries",
        sa.Column("position", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("note_id", sa.String(36), nullable=False),
        sa.Column("iri", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("action", sa.String(10), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in _TEXTS),
        sa.Column("shareable", sa.Boolean, nullable=False),
        sa.Column("previous_hash", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.UniqueConstraint("note_id", "revision", name="one_line_per_revision"),
    )
    op.create_index("entries_recorded_at", "entries", ["recorded_at"])
    op.create_table(
        "head",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("position", sa.BigInteger, nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("base", sa.Text, nullable=False),
    )
    op.create_table(
        "idempotency_keys",
        sa.Column("key", sa.String(255), primary_key=True),
        sa.Column("request_hash", sa.String(64), nullable=False),
        sa.Column("first_position", sa.BigInteger, nullable=False),
        sa.Column("last_position", sa.BigInteger, nullable=False),
    )
    _create_side_tables()
    for statement in _APPEND_ONLY[op.get_bind().dialect.name]:
        op.execute(statement)


def _create_side_tables() -> None:
    op.create_table(
        "tokens",
        sa.Column("id", sa.String(36), primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("role", sa.String(10), nullable=False),
        sa.Column("token_hash", sa.String(64), nullable=False, unique=True),
        sa.Column("made_at", sa.String(32), nullable=False),
        sa.Column("revoked_at", sa.String(32), nullable=False),
    )
    op.create_table(
        "attachments",
        sa.Column("hash", sa.String(64), primary_key=True),
        sa.Column("media_type", sa.String(100), nullable=False),
        sa.Column("size", sa.BigInteger, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("recorded_at", sa.String(32), nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )


_SQLITE = "CREATE TRIGGER entries_no_{0} BEFORE {0} ON entries BEGIN SELECT RAISE(ABORT, 'the ledger only grows'); END"
_FUNCTION = """CREATE FUNCTION ledger_only_grows() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'the ledger only grows'; END $$"""
_TRIGGER = """CREATE TRIGGER entries_only_grow BEFORE UPDATE OR DELETE OR TRUNCATE ON entries
FOR EACH STATEMENT EXECUTE FUNCTION ledger_only_grows()"""
_APPEND_ONLY = {
    "sqlite": (_SQLITE.format("UPDATE"), _SQLITE.format("DELETE")),
    "postgresql": (_FUNCTION, _TRIGGER),
}

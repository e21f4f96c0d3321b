"""The notes of cost, in the same database as the lines, so that one backup holds both. They only grow as well.

A file that held notes of cost before it had migrations keeps its table.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_TEXTS = ("kind", "about", "body", "made_on", "author", "method", "evidence", "job", "batch", "retracts")
_INDEXED = ("kind", "about", "job", "batch")


def upgrade() -> None:
    bind = op.get_bind()
    if not sa.inspect(bind).has_table("cost_notes"):
        op.create_table(
            "cost_notes",
            sa.Column("seq", sa.BigInteger, primary_key=True, autoincrement=False),
            sa.Column("id", sa.Text, nullable=False, unique=True),
            *(sa.Column(name, sa.Text, nullable=False) for name in _TEXTS),
        )
        for name in _INDEXED:
            op.create_index(f"ix_cost_notes_{name}", "cost_notes", [name])
    for statement in _APPEND_ONLY[bind.dialect.name]:
        op.execute(statement)


_SQLITE = """CREATE TRIGGER cost_notes_no_{0} BEFORE {0} ON cost_notes
BEGIN SELECT RAISE(ABORT, 'the notes of cost only grow'); END"""
_POSTGRESQL = """CREATE TRIGGER cost_notes_only_grow BEFORE UPDATE OR DELETE OR TRUNCATE ON cost_notes
FOR EACH STATEMENT EXECUTE FUNCTION ledger_only_grows()"""
_APPEND_ONLY = {"sqlite": (_SQLITE.format("UPDATE"), _SQLITE.format("DELETE")), "postgresql": (_POSTGRESQL,)}

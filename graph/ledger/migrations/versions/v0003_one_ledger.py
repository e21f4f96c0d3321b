"""One ledger: notes of cost and attachments get lines that vouch for them, behind the lines that are there already.

Rows of cost that followed each other in one batch come under one line, numbered, each with its hash; their order,
ids and words stay. Written out in full: a migration says what was true then, so it reads no other module.
"""

import hashlib
import json
import uuid
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

_FIELDS = ("id", "kind", "about", "body", "made_on", "author", "method", "evidence", "job", "batch", "retracts")
_FILE_FIELDS = ("hash", "media_type", "size", "name", "recorded_at")
_BASE = "https://shop.example/"
_PAGE = 1_000
_WORDS = ("text", "statements", "author", "evidence", "method", "job", "document", "recorded_by", "made_at")

_old = sa.table("cost_notes", sa.column("seq"), *map(sa.column, _FIELDS))
_new = sa.table("cost_notes_numbered", *map(sa.column, ("position", "number", *_FIELDS, "hash")))
_files = sa.table("attachments", *map(sa.column, _FILE_FIELDS))
_head = sa.table("head", *map(sa.column, ("id", "position", "hash", "recorded_at", "base")))
_entries = sa.table(
    "entries", sa.column("settles"), sa.column("shareable", sa.Boolean), *map(sa.column, _WORDS),
    *map(sa.column, ("position", "note_id", "iri", "revision", "action", "recorded_at", "covers", "previous_hash",
                     "hash")),
)  # fmt: skip


def upgrade() -> None:
    bind = op.get_bind()
    op.add_column("entries", sa.Column("covers", sa.Text, nullable=False, server_default=""))
    _create_numbered()
    chain = _Chain(bind)
    _take_in_costs(bind, chain)
    _take_in_files(bind, chain)
    chain.finish()
    for statement in _LET_GO[bind.dialect.name]:
        op.execute(statement)
    op.drop_table("cost_notes")
    op.rename_table("cost_notes_numbered", "cost_notes")
    op.create_index("cost_notes_kind", "cost_notes", ["kind", "position"])
    for name in ("about", "job", "batch"):
        op.create_index(f"cost_notes_{name}", "cost_notes", [name])
    for statement in _APPEND_ONLY[bind.dialect.name]:
        op.execute(statement)


def _create_numbered() -> None:
    op.create_table(
        "cost_notes_numbered",
        sa.Column("position", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in _FIELDS),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.UniqueConstraint("id", name="one_cost_note_per_id"),
    )


class _Chain:
    """The lines, as far as they are; `finish` says so in the head."""

    def __init__(self, bind: sa.Connection):
        self.bind, row = bind, bind.execute(sa.select(_head)).mappings().first()
        self.is_new = row is None
        self.position = row["position"] if row else 0
        self.hash = row["hash"] if row else "0" * 64
        self.base = row["base"] if row else _BASE
        clock = _moment(datetime.now(UTC).isoformat())
        self.recorded_at = max(clock, row["recorded_at"]) if row else clock
        self.first = self.position

    def add(self, action: str, folder: str, covers: str, **words: str) -> None:
        name = str(uuid.uuid4())
        record: dict[str, Any] = {
            **dict.fromkeys(_WORDS, ""), **words, "settles": [], "shareable": False, "position": self.position + 1,
            "note_id": name, "iri": f"{self.base}{folder}/{name}", "revision": 1, "action": action,
            "recorded_at": self.recorded_at, "covers": covers,
        }  # fmt: skip
        before, self.position = self.hash, self.position + 1
        self.hash = hashlib.sha256(before.encode() + b"\n" + _canonical(record)).hexdigest()
        row = record | {"settles": "[]", "previous_hash": before, "hash": self.hash}
        self.bind.execute(_entries.insert(), [row])

    def finish(self) -> None:
        if self.position == self.first:
            return
        stands = {"position": self.position, "hash": self.hash, "recorded_at": self.recorded_at}
        if self.is_new:
            self.bind.execute(_head.insert(), [{"id": 1, "base": self.base, **stands}])
        else:
            self.bind.execute(_head.update().values(**stands))


def _take_in_costs(bind: sa.Connection, chain: _Chain) -> None:
    run: dict[str, Any] | None = None
    for row in _old_rows(bind):
        if run is not None and (not row["batch"] or row["batch"] != run["batch"]):
            _close(chain, run)
            run = None
        if run is None:
            run = {"batch": row["batch"], "first": row, "count": 0, "digest": hashlib.sha256(), "kinds": {}}
        run["count"] += 1
        run["kinds"][row["kind"]] = run["kinds"].get(row["kind"], 0) + 1
        values = {name: row[name] for name in _FIELDS}
        row_hash = hashlib.sha256(_canonical(values | {"number": run["count"]})).hexdigest()
        run["digest"].update(f"{row_hash}\n".encode())
        place = {"position": chain.position + 1, "number": run["count"], "hash": row_hash}
        bind.execute(_new.insert(), [values | place])
    if run is not None:
        _close(chain, run)


def _old_rows(bind: sa.Connection) -> Iterator[Mapping[str, Any]]:
    last = None
    while True:
        query = sa.select(_old).order_by(_old.c.seq).limit(_PAGE)
        rows = bind.execute(query if last is None else query.where(_old.c.seq > last)).mappings().all()
        if not rows:
            return
        for row in rows:
            yield dict(row)
        last = rows[-1]["seq"]


def _close(chain: _Chain, run: dict[str, Any]) -> None:
    first = run["first"]
    kinds = ", ".join(f"{count} x {kind}" for kind, count in run["kinds"].items())
    said = {name: first[name] for name in ("author", "method", "job")}
    chain.add(
        "cost", "costs", f"{run['count']}:{run['digest'].hexdigest()}", made_at=_moment(first["made_on"]),
        text=f"Kept before notes of cost were lines: {kinds} ({run['batch'] or first['id']}).", **said,
    )  # fmt: skip


def _take_in_files(bind: sa.Connection, chain: _Chain) -> None:
    rows = bind.execute(sa.select(_files).order_by(_files.c.recorded_at, _files.c.hash)).mappings().all()
    for row in rows:
        row_hash = hashlib.sha256(_canonical({name: row[name] for name in _FILE_FIELDS})).hexdigest()
        covers = f"1:{hashlib.sha256(f'{row_hash}{chr(10)}'.encode()).hexdigest()}"
        document = f"{chain.base}attachments/{row['hash']}"
        chain.add("attachment", "kept", covers, text=row["name"], document=document, made_at=row["recorded_at"])


def _canonical(values: Mapping[str, Any]) -> bytes:
    return json.dumps(values, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def _moment(text: str) -> str:
    try:
        value = datetime.fromisoformat(text)
    except ValueError:
        return ""
    value = value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
    return value.isoformat(timespec="microseconds").replace("+00:00", "Z")


_LET_GO = {
    "sqlite": ("DROP TRIGGER cost_notes_no_UPDATE", "DROP TRIGGER cost_notes_no_DELETE"),
    "postgresql": ("DROP TRIGGER cost_notes_only_grow ON cost_notes",),
}
_SQLITE = """CREATE TRIGGER cost_notes_no_{0} BEFORE {0} ON cost_notes
BEGIN SELECT RAISE(ABORT, 'the notes of cost only grow'); END"""
_POSTGRESQL = """CREATE TRIGGER cost_notes_only_grow BEFORE UPDATE OR DELETE OR TRUNCATE ON cost_notes
FOR EACH STATEMENT EXECUTE FUNCTION ledger_only_grows()"""
_APPEND_ONLY = {"sqlite": (_SQLITE.format("UPDATE"), _SQLITE.format("DELETE")), "postgresql": (_POSTGRESQL,)}

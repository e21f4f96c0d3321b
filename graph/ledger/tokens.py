"""Access tokens: shown once when they are made, kept as a hash, revocable at any time.

A token is 256 random bits, so its hash needs no salt and no slow function: it cannot be guessed from the hash. Before
them stands its handle, a part of its id: not secret, it says which token somebody tries to be. Every look-up asks the
database, so that a token ends at once everywhere.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Engine, select

from graph.errors import InvalidInput, NotFound, Problem
from graph.ledger.database import reading, writing
from graph.ledger.drafts import now
from graph.ledger.identity import digest, new_id
from graph.ledger.schema import tokens
from graph.plain_text import fault_of_text

ROLES = ("read", "note", "manage")
PREFIX = "lay_"
_WITH_HANDLE = re.compile(rf"{PREFIX}([0-9a-f]{{12}})_.+")


@dataclass(frozen=True, slots=True)
class Token:
    """What is known of a token: everything but the token."""

    id: str
    name: str
    role: str
    made_at: str
    revoked_at: str = ""

    @property
    def handle(self) -> str:
        """The part of its id that stands in the token."""
        return self.id[-12:]


def find_handle(secret: str) -> str:
    """Whose token it says to be; empty for one of before there were handles, and for what is no token.

    >>> find_handle("lay_0123456789ab_guess"), find_handle("guess")
    ('0123456789ab', '')
    """
    found = _WITH_HANDLE.fullmatch(secret)
    return found[1] if found else ""


class Tokens:
    """The access tokens of one ledger's database."""

    def __init__(self, engine: Engine):
        self.engine = engine

    def add(self, name: str, role: str) -> tuple[Token, str]:
        """A new token and its secret, which is not kept. Raises InvalidInput for an unknown role or no name."""
        if role not in ROLES:
            raise InvalidInput([Problem("role", f"expected one of {', '.join(ROLES)}, found {role!r}")])
        if not name.strip() or len(name) > 100:
            raise InvalidInput([Problem("name", f"expected 1 to 100 characters, found {name!r}")])
        if fault := fault_of_text(name):
            raise InvalidInput([Problem("name", fault)])
        token = Token(new_id(), name, role, now())
        secret = f"{PREFIX}{token.handle}_{secrets.token_urlsafe(32)}"
        with writing(self.engine) as connection:
            row = {"id": token.id, "name": name, "role": role, "made_at": token.made_at, "revoked_at": ""}
            connection.execute(tokens.insert().values(**row, token_hash=digest(secret)))
        return token, secret

    def revoke(self, token_id: str) -> None:
        """Ends a token; a second time changes nothing. Raises NotFound."""
        with writing(self.engine) as connection:
            if connection.scalar(select(tokens.c.id).where(tokens.c.id == token_id)) is None:
                raise NotFound("token", token_id)
            living = tokens.c.revoked_at == ""
            connection.execute(tokens.update().where(tokens.c.id == token_id, living).values(revoked_at=now()))

    def list_tokens(self) -> Sequence[Token]:
        """Every token ever made, oldest first, without secrets."""
        with reading(self.engine) as connection:
            rows = connection.execute(select(tokens).order_by(tokens.c.made_at, tokens.c.id)).mappings()
            return [Token(row["id"], row["name"], row["role"], row["made_at"], row["revoked_at"]) for row in rows]

    def find(self, secret: str) -> Token | None:
        """The living token with this secret."""
        token = self.find_any(secret)
        return token if token and not token.revoked_at else None

    def find_any(self, secret: str) -> Token | None:
        """The token with this secret, also one that was revoked."""
        with reading(self.engine) as connection:
            row = connection.execute(select(tokens).where(tokens.c.token_hash == digest(secret))).mappings().first()
        return Token(row["id"], row["name"], row["role"], row["made_at"], row["revoked_at"]) if row else None

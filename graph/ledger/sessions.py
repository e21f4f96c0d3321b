"""Sessions of browsers that have signed in with a token: kept until they end, are ended, or their token is.

The secret is 256 random bits; only its hash is kept, like a token's. A row is all there is: to end a session is to
remove it, in the database that every process asks, so that it ends everywhere at once. A backup leaves them out.
"""

from __future__ import annotations

import hmac
import secrets

from sqlalchemy import Connection, Engine, select

from graph.ledger.database import reading, writing
from graph.ledger.identity import digest
from graph.ledger.schema import sessions, tokens
from graph.ledger.tokens import Token

SESSION_S = 12 * 3600  # a working day
MOST_OF_A_TOKEN = 100  # the oldest end first
CODE_S = 5 * 60


def _key_of_code(code: str) -> str:
    return hmac.new(b"a code that is used once", code.encode(), "sha256").hexdigest()


class Sessions:
    """The sessions of one ledger's database. Times are in seconds since 1970."""

    def __init__(self, engine: Engine):
        self.engine = engine

    def start(self, token: Token, at: int) -> str:
        """The secret of a new session of a living token; what is over by then is swept out."""
        secret = secrets.token_urlsafe(32)
        of_token = sessions.c.token_id == token.id
        with writing(self.engine) as connection:
            connection.execute(sessions.delete().where(sessions.c.until < at))
            kept = connection.scalars(
                select(sessions.c.key).where(of_token).order_by(sessions.c.until.desc(), sessions.c.key)
            ).all()
            surplus = kept[MOST_OF_A_TOKEN - 1 :]
            connection.execute(sessions.delete().where(sessions.c.key.in_(surplus)))
            row = {"key": digest(secret), "token_id": token.id, "until": at + SESSION_S}
            connection.execute(sessions.insert().values(**row))
        return secret

    def offer(self, token: Token, at: int) -> str:
        """A code that starts one session of the token within CODE_S seconds: shown by a desk, read by a phone.

        Its row is a session's under another key, so that the code itself is worth nothing as a session's secret.
        """
        code = secrets.token_urlsafe(32)
        with writing(self.engine) as connection:
            row = {"key": _key_of_code(code), "token_id": token.id, "until": at + CODE_S}
            connection.execute(sessions.insert().values(**row))
        return code

    def take(self, code: str, at: int) -> str | None:
        """Uses the code up and starts its session; None where it was used, is too old, or its token has ended."""
        key = _key_of_code(code)
        with writing(self.engine) as connection:
            token = _living_token(connection, key, at)
            gone = connection.execute(sessions.delete().where(sessions.c.key == key)).rowcount
        return self.start(token, at) if token and gone == 1 else None

    def find(self, secret: str, at: int) -> Token | None:
        """The living token that the session stands for, until it ends."""
        with reading(self.engine) as connection:
            return _living_token(connection, digest(secret), at)

    def end(self, secret: str) -> None:
        """Ends the session; one that is over already, or never was, changes nothing."""
        with writing(self.engine) as connection:
            connection.execute(sessions.delete().where(sessions.c.key == digest(secret)))


def _living_token(connection: Connection, key: str, at: int) -> Token | None:
    query = (
        select(tokens)
        .join(sessions, sessions.c.token_id == tokens.c.id)
        .where(sessions.c.key == key, sessions.c.until >= at, tokens.c.revoked_at == "")
    )
    row = connection.execute(query).mappings().first()
    return Token(row["id"], row["name"], row["role"], row["made_at"]) if row else None

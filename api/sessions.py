"""A browser that has signed in: the cookie that it carries, and what its changes must send back."""

from __future__ import annotations

import hmac
from http.cookies import CookieError, SimpleCookie

from fastapi import Request
from starlette.responses import Response

from graph.ledger.tokens import Token, Tokens

COOKIE = "layshaft_session"
SESSION_S = 12 * 3600  # a working day


class Sessions:
    """Signs a browser in with a token, for the pages: a cookie that only the server can have made.

    The cookie names the token, says when it ends, and carries an HMAC under the token's hash (RFC 2104), so it
    needs no table and ends when the token is revoked. Pages that change something send `csrf_token` back.
    """

    def __init__(self, tokens: Tokens):
        self.tokens = tokens

    def start(self, token: Token, at: int) -> str:
        """The cookie's value for a living token. `at`: seconds since 1970."""
        said = f"{token.id}.{at + SESSION_S}"
        return f"{said}.{self._signature(token.id, said)}"

    def find(self, cookie: str, at: int) -> Token | None:
        """The living token that the cookie stands for, until the session ends."""
        said, _, signature = cookie.rpartition(".")
        token_id, _, until = said.partition(".")
        expected = self._signature(token_id, said)
        genuine = hmac.compare_digest(expected.encode(), signature.encode())
        if not expected or not genuine or not until.isdecimal() or int(until) < at:
            return None
        return self.tokens.find_living(token_id)

    def csrf_token(self, cookie: str) -> str:
        """What a page of this session sends back with each change."""
        return self._signature(cookie.partition(".")[0], f"csrf {cookie}")

    def _signature(self, token_id: str, said: str) -> str:
        key = self.tokens.find_hash(token_id)
        return hmac.new(key.encode(), said.encode(), "sha256").hexdigest() if key else ""


def keep_session(request: Request, answer: Response, cookie: str) -> None:
    """Gives the browser the session's cookie."""
    secure = request.url.scheme == "https"
    answer.set_cookie(COOKIE, cookie, max_age=SESSION_S, httponly=True, samesite="strict", secure=secure)


def session_cookie(headers: dict[str, str]) -> str:
    """The session cookie of a request; empty if it has none."""
    cookies = SimpleCookie()
    try:
        cookies.load(headers.get("cookie", ""))
    except CookieError:
        return ""
    return cookies[COOKIE].value if COOKIE in cookies else ""

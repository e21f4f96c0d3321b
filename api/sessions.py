"""A browser that has signed in: the cookie that it carries, and what its changes must send back."""

from __future__ import annotations

import hmac
from http.cookies import CookieError, SimpleCookie

from fastapi import Request
from starlette.responses import Response

from graph.ledger.sessions import SESSION_S

COOKIE = "layshaft_session"


def csrf_token(cookie: str) -> str:
    """What a page of this session sends back with each change: who knows the cookie can tell it, nobody else."""
    return hmac.new(cookie.encode(), b"csrf", "sha256").hexdigest()


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


def drop_session(request: Request, answer: Response) -> None:
    """Takes the session's cookie from the browser."""
    answer.delete_cookie(COOKIE, httponly=True, samesite="strict", secure=request.url.scheme == "https")

"""Who may do what. On loopback: one user, every role, no login. Elsewhere: an access token, or no service.

Roles: `read` (all questions, SPARQL, exports), `note` (add and change notes), `manage` (tokens, imports of others'
notes); each includes the ones before. Every operation says which it needs (`api.roles`); here, and only here, it is
asked for. Tokens travel as `Authorization: Bearer` (RFC 6750).
A browser signs in with a token (the page /sign-in, or POST /session) and then carries a cookie (HttpOnly,
SameSite=Strict); its changes must come from a page of ours (Origin) or send the session's CSRF token. Requests that
another web site makes a browser send are refused: their Origin or Host is not ours.
"""

from __future__ import annotations

import hmac
import ipaddress
import time
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote, urlsplit

import anyio.to_thread
from fastapi import Request
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from api import problems
from api.front import DEFAULT_PORTS, Front, is_forwarded
from api.lockout import TooManyTries, doorkeeper_of
from api.pages.base import error_page
from api.roles import ALL_ROLES, OPEN, Operation, operation_of
from api.sessions import csrf_token, session_cookie
from graph.cli.program import command
from graph.errors import InvalidInput, Problem
from graph.ledger.sessions import Sessions
from graph.ledger.tokens import Tokens

LOOPBACK = "127.0.0.1"
MAX_CLIENTS = 10_000
CSRF_HEADER = "x-csrf-token"
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")


@dataclass(frozen=True, slots=True)
class Access:
    """Who asks: the name on the token (`local` on loopback), and the role it gives."""

    name: str
    role: str

    def may(self, role: str) -> bool:
        """Whether it may do what the role may."""
        return ALL_ROLES.index(self.role) >= ALL_ROLES.index(role)

    def need(self, role: str) -> Access:
        """Itself, if it may do what the role may. Raises a 403 problem.

        For what a body asks beyond its operation; the operation's own role was asked for before it began.
        """
        if not self.may(role):
            told = "ask whoever looks after the people of this workshop for one that may"
            raise HTTPException(403, f"the token {self.name!r} may {self.role}; this needs {role}: {told}")
        return self

    @property
    def default_author(self) -> str:
        """Who says what names no author: the token's name; nobody on loopback."""
        return "" if self == LOCAL else self.name

    def signed(self, author: str) -> str:
        """The author as it is written down: the token's name, behind whatever name the writer gave besides.

        >>> Access("bench tablet", "note").signed(""), Access("bench tablet", "note").signed("owner")
        ('bench tablet', 'owner (bench tablet)')
        >>> Access("bench tablet", "note").signed("owner (bench tablet)")
        'owner (bench tablet)'
        >>> Access("local", "manage").signed("owner")
        'owner'
        """
        if not author.strip() or self == LOCAL:
            return author or self.name
        return author if author == self.name or author.endswith(f"({self.name})") else f"{author} ({self.name})"


NOBODY_IN_FRONT = Front()
LOCAL = Access("local", "manage")
STRANGER = Access("anyone", OPEN)
Refusal = tuple[int, str, dict[str, str]]
UNKNOWN: Refusal = (
    401, "send an access token: Authorization: Bearer ...", {"WWW-Authenticate": 'Bearer realm="layshaft"'}
)  # fmt: skip


def _wants_page(scope: Scope, headers: dict[str, str]) -> bool:
    """Whether a person's browser asks for a page, who can be sent to the one for signing in."""
    return scope["method"] == "GET" and "text/html" in headers.get("accept", "") and "authorization" not in headers


def _to_sign_in(scope: Scope) -> Response:
    query = scope.get("query_string", b"").decode("latin-1")
    wanted = scope["path"] + (f"?{query}" if query else "")
    return RedirectResponse(f"/sign-in?wanted={quote(wanted, safe='/')}", status_code=303)


def access_of(request: Request) -> Access:
    """Who sent the request; the gate has put it there."""
    found = request.scope.get("layshaft_access", LOCAL)
    assert isinstance(found, Access)
    return found


def address_of(scope: Scope) -> str:
    """Where the request came from."""
    return str((scope.get("client") or (LOCAL.name, 0))[0])


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach the address."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def check_listening(host: str, tokens: Tokens, front: Front = NOBODY_IN_FRONT, data: Path | None = None) -> bool:
    """Whether a token is required at this address. Raises InvalidInput where one is and none was ever made.

    `data`: the data folder, for the command that makes one.

    Behind a proxy everybody comes from its address, which may be this very machine: then loopback gives no rights.
    """
    if is_loopback(host) and not front.is_named:
        return False
    if not any(not token.revoked_at for token in tokens.list_tokens()):
        make = command("token", "add", "NAME", "--role", "manage", data=data)
        way = "through the proxy or the names that are set" if is_loopback(host) else host
        raise InvalidInput([Problem("host", f"others can reach {way}, so an access token is needed: {make}")])
    return True


class RateLimit:
    """So many requests a second for each client, with room for a burst (a token bucket for each)."""

    def __init__(self, per_second: float = 50.0, burst: int = 200):
        self.per_second, self.burst = per_second, burst
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def wait_s(self, client: str, at: float) -> float:
        """0 if the client may go on, else the seconds until it may."""
        left, last = self._left.pop(client, (float(self.burst), at))
        left = min(float(self.burst), left + (at - last) * self.per_second)
        allowed = left >= 1.0
        self._left[client] = (left - 1.0 if allowed else left, at)
        while len(self._left) > MAX_CLIENTS:
            self._left.popitem(last=False)
        return 0.0 if allowed else (1.0 - left) / self.per_second


class Gate:
    """ASGI layer: lets a request through with its `Access`, or answers 401, 403 or 429."""

    def __init__(self, app: ASGIApp, tokens: Tokens, required: bool, rate: RateLimit | None = None):
        self.app, self.tokens, self.required = app, tokens, required
        # On loopback there is one user, whose programs share one address: what is under way at once is limited instead.
        self.rate = rate or (RateLimit() if required else None)
        self.sessions = Sessions(tokens.engine)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        operation = operation_of(scope)
        refusal, access = self._foreign(scope, headers), None
        if not refusal:
            try:
                access = await self._found_access(scope, headers)
            except TooManyTries as error:
                refusal = 429, str(error), {"Retry-After": str(error.wait_s)}
        refusal = refusal or self._too_fast(scope, access) or _not_allowed(access, operation)
        if refusal:
            await _refused(scope, headers, operation, refusal)(scope, receive, send)
            return
        scope["layshaft_access"] = access  # not in a copy: the layers outside read the route from this very scope
        await self.app(scope, receive, send)

    def _too_fast(self, scope: Scope, access: Access | None) -> Refusal | None:
        client = address_of(scope) if access in (None, LOCAL, STRANGER) else f"token {access.name}"  # type: ignore[union-attr]
        if self.rate and (wait := self.rate.wait_s(client, time.monotonic())):
            return 429, f"slow down: again in {wait:.2f} s", {"Retry-After": str(int(wait) + 1)}
        return None

    async def _found_access(self, scope: Scope, headers: dict[str, str]) -> Access | None:
        """Tokens are looked up in a thread; who needs none, or has none, never waits for one."""
        if "authorization" not in headers and (not self.required or "cookie" not in headers):
            return self._access(scope, headers)
        return await anyio.to_thread.run_sync(self._access, scope, headers)

    def _access(self, scope: Scope, headers: dict[str, str]) -> Access | None:
        """Who asks; None for a token that is not good."""
        kind, _, secret = headers.get("authorization", "").partition(" ")
        if secret and kind.lower() == "bearer":
            keeper = doorkeeper_of(scope["app"], self.tokens)
            token = keeper.find(secret.strip(), address_of(scope), time.monotonic())
            return Access(token.name, token.role) if token else None
        if not self.required:
            return LOCAL
        if (cookie := session_cookie(headers)) and (token := self.sessions.find(cookie, int(time.time()))):
            sent = headers.get(CSRF_HEADER, "")
            from_our_page = scope["method"] in SAFE_METHODS or "origin" in headers  # a foreign one was refused before
            if from_our_page or hmac.compare_digest(csrf_token(cookie).encode(), sent.encode()):
                return Access(token.name, token.role)
        return STRANGER

    def _foreign(self, scope: Scope, headers: dict[str, str]) -> Refusal | None:
        host = headers.get("host", "")
        if not self.required and host and not is_loopback(urlsplit(f"//{host}").hostname or ""):
            return 403, f"this service answers on this machine only, not as {host!r}", {}
        if not self.required and is_forwarded(scope["headers"]):
            return 403, "a proxy seems to stand in front: name it in LAYSHAFT_PROXIES, then tokens are asked for", {}
        origin = headers.get("origin")
        if origin and scope["method"] not in SAFE_METHODS and not _is_ours(origin, host):
            return 403, f"a page from {origin!r} may not send this", {}
        return None


def _is_ours(origin: str, host: str) -> bool:
    """Whether a page of this origin is one of ours: the same host and port, the scheme's own port said or not."""
    try:
        found = urlsplit(origin)
    except ValueError:
        return False
    port = DEFAULT_PORTS.get(found.scheme, "")
    return bool(found.netloc) and found.netloc.removesuffix(port) == host.removesuffix(port)


def _not_allowed(access: Access | None, operation: Operation) -> Refusal | None:
    """The one place where an operation's role is asked for."""
    if access is None or (access.role == OPEN and operation.needed != OPEN):
        return UNKNOWN
    try:
        access.need(operation.needed)
    except HTTPException as error:
        return error.status_code, error.detail, {}
    return None


def _refused(scope: Scope, headers: dict[str, str], operation: Operation, refusal: Refusal) -> ASGIApp:
    """The refusal as problem details; for a person at a browser as a page, or as the way to the page for signing in."""
    status, detail, extra = refusal
    if status == 401 and _wants_page(scope, headers):
        return _to_sign_in(scope)
    if status == 403 and operation.is_page:
        return error_page(Request(scope), HTTPException(status, detail))
    return problems.problem(scope["path"], status, detail, headers=extra)

"""Which role an operation needs: stated once beside its route, asked for in one place (`api.security.Gate`).

    @needs("note")
    @router.post("/notes")
    def add_note(...): ...

`open` needs no token at all. An operation that states nothing needs the highest role, and a test names it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from fastapi import FastAPI
from fastapi.params import Form
from fastapi.routing import RouteContext, iter_route_contexts
from starlette.routing import BaseRoute, Mount
from starlette.types import Scope

from api import problems
from api.sessions import COOKIE
from graph.ledger.tokens import ROLES

OPEN = "open"
ALL_ROLES = (OPEN, *ROLES)  # each may what the ones before may
HIGHEST, LOWEST_KNOWN = ROLES[-1], ROLES[0]
ANY_METHOD = "*"
JSON = "application/json"
_STATED, _FOUND = "layshaft_needed_role", "layshaft_operation"
Endpoint = TypeVar("Endpoint")


def needs(role: str) -> Callable[[Endpoint], Endpoint]:
    """Marks an endpoint (a function, or an app to mount) with the role that it needs. Raises ValueError for another."""
    if role not in ALL_ROLES:
        raise ValueError(f"expected one of {', '.join(ALL_ROLES)}; found {role!r}")

    def stated(endpoint: Endpoint) -> Endpoint:
        setattr(endpoint, _STATED, role)
        return endpoint

    return stated


@dataclass(frozen=True, slots=True)
class Operation:
    """A method at a path (as a template), and the role that it states (empty: none).

    `is_page`: it answers with a page, also where something is wrong. `takes_json`: its body is JSON. `reads_itself`:
    it is handed the bytes of its body, which the framework does not read.
    """

    method: str
    path: str
    role: str
    is_page: bool = False
    takes_json: bool = False
    reads_itself: bool = False

    @property
    def needed(self) -> str:
        """The role that is asked for."""
        return self.role or HIGHEST


def list_operations(app: FastAPI) -> list[Operation]:
    """Every operation of the app in the order in which its routes are tried."""
    return [operation for _, operations in _rows(app.routes) for operation in operations]


class RoleTable:
    """What every request to an app needs; drawn up anew when the app has got further routes."""

    def __init__(self, app: FastAPI):
        self.app, self._count = app, -1
        self._rows: list[tuple[re.Pattern[str], tuple[Operation, ...]]] = []

    def get_operation(self, method: str, path: str) -> Operation:
        """The operation that the request will meet. Where none is, one needs to be known to hear so."""
        if self._count != len(self.app.routes):
            self._rows, self._count = list(_rows(self.app.routes)), len(self.app.routes)
        at_path: list[Operation] = []
        for pattern, operations in self._rows:
            if pattern.match(path):
                at_path += operations
                for operation in operations:
                    if operation.method in (method, ANY_METHOD):
                        return operation
        wanted = OPEN if at_path and all(each.role == OPEN for each in at_path) else LOWEST_KNOWN
        return Operation(method, path, wanted)


def _rows(routes: Sequence[BaseRoute]) -> Iterator[tuple[re.Pattern[str], tuple[Operation, ...]]]:
    for route in iter_route_contexts(routes):
        what = route.original_route
        if isinstance(what, Mount):
            role = getattr(what.app, _STATED, "")
            yield what.path_regex, (Operation(ANY_METHOD, what.path_format, role),)
        else:
            yield route.path_regex, tuple(_operations(route))


def _operations(route: RouteContext) -> Iterator[Operation]:
    role = getattr(route.endpoint, _STATED, "")
    is_page = bool(getattr(route.original_route, "answers_with_a_page", False))
    takes_json, reads_itself = _takes_json(route.original_route), "requestBody" in _extra(route.original_route)
    for method in sorted(route.methods or (ANY_METHOD,)):
        yield Operation(method, route.path_format or "", role, is_page, takes_json, reads_itself)


def _takes_json(route: BaseRoute) -> bool:
    described = _extra(route)
    if "requestBody" in described:
        return set(described["requestBody"]["content"]) == {JSON}
    body = getattr(route, "body_field", None)
    return body is not None and not isinstance(body.field_info, Form)


def _extra(route: BaseRoute) -> dict[str, Any]:
    """What a route says of itself besides what the framework finds out."""
    return getattr(route, "openapi_extra", None) or {}


def operation_of(scope: Scope) -> Operation:
    """The operation that the request of this scope will meet, looked up once for each request."""
    if _FOUND not in scope:
        state = scope["app"].state
        if not hasattr(state, "role_table"):
            state.role_table = RoleTable(scope["app"])
        scope[_FOUND] = state.role_table.get_operation(scope["method"], scope["path"])
    found = scope[_FOUND]
    assert isinstance(found, Operation)
    return found


def describe(description: dict[str, Any], app: FastAPI) -> dict[str, Any]:
    """The OpenAPI description with each operation's role: as a security requirement, and in words.

    OpenAPI 3.1, Security Requirement Object: "the array MAY contain a list of role names".
    """
    description.setdefault("components", {})["securitySchemes"] = {
        "token": {
            "type": "http",
            "scheme": "bearer",
            "description": "An access token (RFC 6750). Roles: `read`, `note`, `manage`; each may what the ones before "
            "may. On this machine alone, with no proxy in front, none is asked for.",
        },
        "session": {
            "type": "apiKey",
            "in": "cookie",
            "name": COOKIE,
            "description": "A browser that has signed in; each change is sent from a page of ours (Origin) or with "
            "X-CSRF-Token.",
        },
    }
    roles = {(one.method.lower(), one.path): one.needed for one in list_operations(app)}
    for path, operations in description.get("paths", {}).items():
        for method, operation in operations.items():
            _state(operation, roles[method, path])
    return description


def _state(operation: dict[str, Any], role: str) -> None:
    if role != OPEN:
        for status, told in problems.responses({}, 401, 403).items():
            operation["responses"].setdefault(str(status), told) if status != 200 else None
    operation["security"] = [] if role == OPEN else [{"token": [role]}, {"session": [role]}]
    said = "Needs no token." if role == OPEN else f"Needs the role `{role}`."
    operation["description"] = "\n\n".join(filter(None, (operation.get("description", ""), said)))

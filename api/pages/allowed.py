"""A page shows no form that whoever reads it may not send: it says whom to ask instead.

Which role a form or link needs is looked up where every request's is (`api.roles`), so a template asks nothing.
"""

from __future__ import annotations

import re
from typing import Protocol, cast

from fastapi import Request

from api.roles import RoleTable

_FORM = re.compile(r'<form method="post" action="([^"?#]+)[^>]*>.*?</form>', re.DOTALL)
_BUTTON = re.compile(r'<button [^>]*formaction="([^"?#]+)[^>]*>.*?</button>', re.DOTALL)
_LINK = re.compile(r'(<li>\s*)?<a [^>]*href="(/[^"?#]*)[^>]*>(?:(?!</a>).)*</a>(?(1)\s*</li>)', re.DOTALL)
TOLD = (
    '<p class="sheet">You may read here, not write: ask whoever looks after the people of this workshop '
    "(the page People) for more.</p>"
)


class _Asker(Protocol):
    def may(self, role: str) -> bool: ...


def only_allowed(request: Request, html: str) -> str:
    """The page without what its reader may not send or open; the first form left out leaves a word of whom to ask."""
    reader = cast("_Asker | None", request.scope.get("layshaft_access"))
    if reader is None or reader.may("manage"):
        return html
    if not hasattr(request.app.state, "role_table"):
        request.app.state.role_table = RoleTable(request.app)
    table = cast(RoleTable, request.app.state.role_table)
    told = [TOLD]

    def allowed(method: str, path: str) -> bool:
        return reader.may(table.get_operation(method, path).needed)

    def sent(match: re.Match[str]) -> str:
        if allowed("POST", match[1]):
            return match[0]
        return told.pop() if told else ""

    def opened(match: re.Match[str]) -> str:
        return match[0] if allowed("GET", match[2]) else ""

    return _LINK.sub(opened, _BUTTON.sub(sent, _FORM.sub(sent, html)))

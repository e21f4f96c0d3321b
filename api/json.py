"""JSON responses from plain values, written by pydantic-core (no model in between, so answers stay quick)."""

from __future__ import annotations

from typing import Any

from fastapi import Response
from pydantic_core import to_json


class PlainJson(Response):
    """A response whose body is the given dictionaries and lists as JSON."""

    media_type = "application/json"

    def render(self, content: Any) -> bytes:
        return to_json(content)

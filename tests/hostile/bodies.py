"""What a hostile body is: a request, made when it is sent, and what may be answered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

JSON = "application/json"
WHO = {"author": "bench", "evidence": "measured-on-these-parts"}


@dataclass(frozen=True)
class Hostile:
    """One request. `body` makes it; `statuses`: those that are right for it, where a 4xx is not the only one."""

    name: str
    path: str
    body: Callable[[], bytes]
    media_type: str = "application/octet-stream"
    method: str = "POST"
    params: Mapping[str, str] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)
    statuses: frozenset[int] = frozenset(range(400, 500))


def form_of(name: str, content: bytes, **fields: str) -> tuple[bytes, str]:
    """A form with one file, and its media type."""
    boundary = "layshaft-form"
    head = f'--{boundary}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'
    texts = "".join(
        f'\r\n--{boundary}\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}'
        for key, value in fields.items()
    )
    return (
        head.encode() + content + f"{texts}\r\n--{boundary}--\r\n".encode(),
        f"multipart/form-data; boundary={boundary}",
    )

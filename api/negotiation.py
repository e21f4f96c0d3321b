"""Which representation a client gets: the best match of its Accept header (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from starlette.exceptions import HTTPException


def chosen(accept: str, offers: Mapping[str, str]) -> str:
    """The offered media type that the header likes best; the first offer for none or `*/*`.

    `offers`: media types as clients may call them -> the type that is sent, best first. Raises a 406 problem.

    >>> chosen("text/csv;q=0.5, application/json", {"application/json": "application/json", "text/csv": "text/csv"})
    'application/json'
    """
    wanted = _ranges(accept) or [("*/*", 1.0)]
    best, best_quality = "", 0.0
    for name, sent in offers.items():
        quality = _quality(name, wanted)
        if quality > best_quality:
            best, best_quality = sent, quality
    if not best:
        raise HTTPException(406, f"expected one of {', '.join(dict.fromkeys(offers.values()))}, found {accept!r}")
    return best


def _ranges(accept: str) -> list[tuple[str, float]]:
    found = []
    for item in accept.lower().split(","):
        name, *parameters = (part.strip() for part in item.split(";"))
        quality = next((p[2:] for p in parameters if p.startswith("q=")), "1")
        if name:
            found.append((name, _number(quality)))
    return found


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        return 0.0
    return value if 0.0 <= value <= 1.0 else 0.0


def _quality(name: str, wanted: Sequence[tuple[str, float]]) -> float:
    """The most exact range that covers the name decides."""
    ranges = {name: 3, f"{name.partition('/')[0]}/*": 2, "*/*": 1}
    covering = [(ranges[each], quality) for each, quality in wanted if each in ranges]
    return max(covering)[1] if covering else 0.0

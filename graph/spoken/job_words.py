"""Words that say what is known of the job: `late engine management`, `I have a press`, `for towing`. No I/O."""

from __future__ import annotations

from graph.reading.job_keys import KEY_WORDS, USUAL_DUTIES
from graph.spoken.found import FoundInWords
from graph.spoken.model import CONTEXT, SpokenChoice
from graph.spoken.phrases import HAVING


def take_job(found: FoundInWords) -> None:
    """Keys of what is known of a job beside a value that the facts ask for: `late engine management`, `a press`."""
    values: dict[str, list[tuple[str, str]]] = {}
    for key, op, value in found.names.index.listing.asked:
        if op in ("=", "has", "!=") and key != "state of the part" and value.isalpha():
            values.setdefault(value.casefold(), []).append((key, value))
    for at, piece in enumerate(found.heard.pieces):
        for key, value in values.get(piece.plain, ()):
            _take_known(found, at, key, value)
        if piece.plain in USUAL_DUTIES:
            _take_duty(found, at)


def _take_known(found: FoundInWords, at: int, key: str, value: str) -> None:
    pieces = found.heard.pieces
    words = {key, *KEY_WORDS.get(key, "").casefold().split()}
    first = stop = at
    if at + 1 < len(pieces) and pieces[at + 1].plain in words:
        stop = at + 1
        while stop + 1 < len(pieces) and pieces[stop + 1].plain in words:
            stop += 1
    elif at > 0 and (before := found.heard.before(at)) >= 0 and pieces[before].plain in words | {"is", "="}:
        first = before
        while first > 0 and pieces[first - 1].plain in words:
            first -= 1
    elif key == "tools" and (before := found.heard.before(at)) >= 0 and pieces[before].plain in HAVING:
        first = before
    else:
        return
    if found.heard.is_denied(first) or any(found.heard.taken[first : stop + 1]):
        return
    label = f"{KEY_WORDS.get(key, key)}: {value}"
    found.chip(first, stop + 1, SpokenChoice(f"{CONTEXT}{key}", value, label))


def _take_duty(found: FoundInWords, at: int) -> None:
    pieces = found.heard.pieces
    before = found.heard.before(at)
    after = pieces[at + 1].plain if at + 1 < len(pieces) else ""
    follows = after in ("use", "duty", "work", "only")
    leads = before >= 0 and pieces[before].plain in ("for", "duty", "on")
    if (follows or leads) and not found.heard.is_denied(before if leads else at):
        _duty(found, before if leads else at, at + 2 if follows else at + 1, pieces[at].plain)


def _duty(found: FoundInWords, first: int, stop: int, duty: str) -> None:
    if not any(found.heard.taken[first:stop]):
        found.chip(first, stop, SpokenChoice(f"{CONTEXT}duty", duty, f"Duty: {duty}"))


def take_duties(found: FoundInWords) -> None:
    """Words of duty that nothing else has used."""
    for at, piece in enumerate(found.heard.pieces):
        if piece.plain in USUAL_DUTIES and not found.heard.taken[at] and not found.heard.is_denied(at):
            _duty(found, at, at + 1, piece.plain)

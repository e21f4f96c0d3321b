"""What a shop's people and programs send: a mix of requests over the demo's facts, the same for a given turn.

Of twenty requests eight are questions, nine other reads (pages, lists, searches, SPARQL), one asks after the service's
health, and two write: a note in words alone, and a note that brings a part and joins it, which moves the index.
"""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import quote

from scripts.benchmarks.wire import Request

QUESTIONS: tuple[dict[str, Any], ...] = (
    {"gearbox": "hollin-5", "engine": "ouzel-20", "alternatives": 2},
    {"gearbox": "sedge-4a", "engine": "pipit-16", "objective": "total"},
    {"gearbox": "tansy-5", "engine": "ouzel-20", "objective": "cash"},
    {"gearbox": "tansy-5", "engine": "pipit-16"},
    {"gearbox": "hollin-5", "engine": "pipit-16", "vehicle": "sorrel-pick-up"},
    {"gearbox": "hollin-5", "engine": "ouzel-20", "objective": "hours", "alternatives": 0},
)
PAGES = ("/", "/browse", "/part/hollin-5", "/notebook", "/bench")
WORDS = ("pilot bush", "clutch disk", "tansy", "shoulder", "bearing")
SPARQL = "SELECT ?n ?t WHERE { ?n <http://purl.org/dc/terms/description> ?t } LIMIT 20"
SAID = {"author": "bench one", "evidence": "measured-on-these-parts"}
JOINED = """@prefix lay: <https://layshaft.example/vocabulary#> . @prefix kind: <https://layshaft.example/kinds/> .
@prefix shop: <https://shop.example/> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
shop:disc-{n} a lay:Part ; rdfs:label "Disc {n} from the shelf" ; lay:kind kind:clutch-disc ;
    lay:partCondition kind:used-tested ; lay:cash 20.00 ; lay:hours 0.60 ; lay:days 2 .
shop:disc-{n}-on-shaft a lay:Fits ; lay:source shop:disc-{n} ; lay:target shop:shaft-hollin ;
    lay:joint kind:clutch-spline .
"""
READS = (
    "ask",
    "ask",
    "page",
    "parts",
    "ask",
    "search",
    "ask",
    "answer",
    "health",
)  # of a turn of 20, twice, and 2 more

STRIDE = 7  # shares no factor with 20, so every client sends every kind


def request_of(turn: int, client: int = 0, *, writes: bool = True) -> Request:
    """A client's request of this turn. `writes`: otherwise notes are read where they would be written."""
    place = (turn * STRIDE + client) % 20
    if place == 9:
        return _note(f"{client}-{turn}") if writes else Request("GET /notes", "GET", "/notes?limit=20")
    if place == 19:
        return _joining_note(f"{client}-{turn}") if writes else _sparql()
    if place == 13:
        return _sparql()
    return _read(READS[place % 10], turn // 20 + turn + client)


def _read(kind: str, turn: int) -> Request:
    if kind == "ask":
        body = json.dumps(QUESTIONS[turn % len(QUESTIONS)]).encode()
        return Request("POST /routes", "POST", "/routes", body)
    if kind == "search":
        return Request("GET /search", "GET", f"/search?q={quote(WORDS[turn % len(WORDS)])}")
    if kind == "answer":
        asked = QUESTIONS[turn % len(QUESTIONS)]
        return Request("GET /compare (page)", "GET", f"/compare?gearbox={asked['gearbox']}&engine={asked['engine']}")
    if kind == "page":
        return Request("GET pages", "GET", PAGES[turn % len(PAGES)])
    path = {"parts": "/parts?limit=50", "health": "/healthz"}[kind]
    return Request(f"GET {path.partition('?')[0]}", "GET", path)


def _note(name: str) -> Request:
    body = {"text": f"Bush {name} turned to 21.", "job": name, **SAID}
    return Request("POST /notes, words", "POST", "/notes", json.dumps(body).encode())


def _joining_note(name: str) -> Request:
    body = {"text": f"Disc {name} slides on the shaft.", "statements": JOINED.format(n=f"bench-{name}"), **SAID}
    return Request("POST /notes, a joint", "POST", "/notes", json.dumps(body).encode())


def _sparql() -> Request:
    return Request("POST /sparql", "POST", "/sparql", SPARQL.encode(), "application/sparql-query")

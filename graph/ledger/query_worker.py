"""Runs readers' queries in a child process (`graph.guarded.child`), which `query.QueryRunner` asks.

It opens snapshots read-only and writes nothing but the result, whose size the child's file size limit bounds.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any

import pyoxigraph as ox

from graph.plain_text import XmlFile

MOST_SAID = 500  # characters of a parser's message, which may repeat the query
_stores: dict[str, ox.Store] = {}  # the one that was asked last


def answer(question: Mapping[str, Any], files: list[int]) -> dict[str, Any]:
    """Runs one query, its result into the file. The reply is empty, or `{"error": "syntax", "detail": text}`."""
    try:
        with os.fdopen(os.dup(files[0]), "wb") as file:
            result = _result(question)
            media_type = question["media_type"]
            out = XmlFile(file) if media_type.endswith("+xml") else file
            result.serialize(out, format=_format(result, media_type))  # type: ignore[arg-type]
            if isinstance(out, XmlFile):
                out.end()
    except (SyntaxError, ValueError) as error:
        return {"error": "syntax", "detail": str(error)[:MOST_SAID]}
    return {}


def _result(question: Mapping[str, Any]) -> ox.QuerySolutions | ox.QueryBoolean | ox.QueryTriples:
    default, named = question["default_graphs"], question["named_graphs"]
    return _store(question["store"]).query(
        question["query"], base_iri=question["base"],
        use_default_graph_as_union=not default and not named,
        default_graph=[ox.NamedNode(iri) for iri in default] if default else None,
        named_graphs=[ox.NamedNode(iri) for iri in named] if named else None,
    )  # fmt: skip


def _store(path: str) -> ox.Store:
    if path not in _stores:
        _stores.clear()
        _stores[path] = ox.Store.read_only(path)
    return _stores[path]


def _format(result: object, media_type: str) -> ox.RdfFormat | ox.QueryResultsFormat:
    kind = ox.RdfFormat if isinstance(result, ox.QueryTriples) else ox.QueryResultsFormat
    found = kind.from_media_type(media_type)
    if found is None:
        raise ValueError(f"no {media_type} for this kind of query")
    return found

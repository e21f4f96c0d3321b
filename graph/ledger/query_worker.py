"""The child process that runs readers' queries. It reads one JSON line per question and answers with one.

Only `query.QueryRunner` starts it (`python -m graph.ledger.query_worker`). It may be killed at any moment: it
opens snapshots read-only and writes nothing but the result file that it was told. Its memory is limited by
the operating system, its priority is low, so that a heavy query does not slow the server down.
"""

from __future__ import annotations

import json
import os
import resource
import sys
from pathlib import Path
from typing import BinaryIO

import pyoxigraph as ox


class ResultTooLarge(OSError):
    """The result passed the limit; raised out of the serializer."""


class _Limited:
    """A file that refuses to grow beyond a limit."""

    def __init__(self, file: BinaryIO, max_bytes: int):
        self.file, self.left = file, max_bytes

    def write(self, data: bytes) -> int:
        self.left -= len(data)
        if self.left < 0:
            raise ResultTooLarge
        return self.file.write(data)

    def flush(self) -> None:
        self.file.flush()


def limit_memory(max_bytes: int) -> None:
    """No more private memory than this for the process, as the operating system counts it."""
    for name in ("RLIMIT_DATA", "RLIMIT_CORE"):
        if hasattr(resource, name):
            value = 0 if name == "RLIMIT_CORE" else max_bytes
            resource.setrlimit(getattr(resource, name), (value, value))


def answer(question: dict[str, object], stores: dict[str, ox.Store]) -> dict[str, object]:
    """Runs one query and writes its result. The reply is `{"ok": true}` or `{"error": kind, "detail": text}`."""
    path = str(question["store"])
    if path not in stores:
        stores.clear()
        stores[path] = ox.Store.read_only(path)
    default, named = (question.get(name) for name in ("default_graphs", "named_graphs"))
    try:
        result = stores[path].query(
            str(question["query"]), base_iri=str(question["base"]),
            use_default_graph_as_union=not default and not named,
            default_graph=[ox.NamedNode(iri) for iri in default] if default else None,  # type: ignore[attr-defined]
            named_graphs=[ox.NamedNode(iri) for iri in named] if named else None,  # type: ignore[attr-defined]
        )  # fmt: skip
        with Path(str(question["result"])).open("wb") as file:
            limited = _Limited(file, int(str(question["max_bytes"])))
            result.serialize(limited, format=_format(result, str(question["media_type"])))  # type: ignore[arg-type]
    except (SyntaxError, ValueError) as error:
        return {"error": "syntax", "detail": str(error)}
    except ResultTooLarge:
        return {"error": "size", "detail": ""}
    except MemoryError:
        return {"error": "memory", "detail": ""}
    except OSError as error:
        return {"error": "store", "detail": str(error)}
    return {"ok": True}


def _format(result: object, media_type: str) -> ox.RdfFormat | ox.QueryResultsFormat:
    kind = ox.RdfFormat if isinstance(result, ox.QueryTriples) else ox.QueryResultsFormat
    found = kind.from_media_type(media_type)
    if found is None:
        raise ValueError(f"no {media_type} for this kind of query")
    return found


def main() -> None:
    """Answers questions from standard input until it closes."""
    limit_memory(int(sys.argv[1]))
    os.nice(10)
    stores: dict[str, ox.Store] = {}
    for line in sys.stdin:
        reply = answer(json.loads(line), stores)
        sys.stdout.write(json.dumps(reply) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()

"""What the service counts, as text in the Prometheus exposition format (0.0.4), and one JSON line per request.

Counted: requests by method, route and status; their duration in a histogram; requests under way; the size of the
graph; memory and open files of the process. Routes are named by their template (`/parts/{id}`), so that the number of
series stays bounded whatever is asked for.
"""

from __future__ import annotations

import json
import logging
import os
import resource
import time
from bisect import bisect_left
from collections import defaultdict
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock

from fastapi import APIRouter, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.json import PlainJson
from api.workshop import UsesWorkshop

BOUNDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)  # seconds
MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
log = logging.getLogger("layshaft.requests")
Series = tuple[str, str, int]  # method, route, status


class Counts:
    """Counters of one process. Safe from any thread."""

    def __init__(self) -> None:
        self._lock = Lock()
        self.under_way = 0
        self.requests: dict[Series, int] = defaultdict(int)
        self.buckets: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0] * (len(BOUNDS) + 1))
        self.seconds: dict[tuple[str, str], float] = defaultdict(float)

    def begin(self) -> None:
        """A request has come in."""
        with self._lock:
            self.under_way += 1

    def end(self, method: str, route: str, status: int, seconds: float) -> None:
        """It has been answered."""
        with self._lock:
            self.under_way -= 1
            self.requests[method, route, status] += 1
            self.buckets[method, route][bisect_left(BOUNDS, seconds)] += 1
            self.seconds[method, route] += seconds

    def as_text(self) -> str:
        """All of it in the exposition format."""
        with self._lock:
            lines = [*_head("layshaft_requests_total", "counter", "Requests answered.")]
            for (method, route, status), count in sorted(self.requests.items()):
                lines.append(f'layshaft_requests_total{{{_of(method, route)},status="{status}"}} {count}')
            lines += _head("layshaft_request_seconds", "histogram", "Time from a request to the end of its answer.")
            for (method, route), counts in sorted(self.buckets.items()):
                lines += self._histogram(_of(method, route), counts, self.seconds[method, route])
            lines += _head("layshaft_requests_under_way", "gauge", "Requests being answered now.")
            lines.append(f"layshaft_requests_under_way {self.under_way}")
        return "\n".join(lines) + "\n"

    @staticmethod
    def _histogram(of: str, counts: list[int], seconds: float) -> list[str]:
        lines, so_far = [], 0
        for bound, count in zip((*map(str, BOUNDS), "+Inf"), counts, strict=True):
            so_far += count
            lines.append(f'layshaft_request_seconds_bucket{{{of},le="{bound}"}} {so_far}')
        lines.append(f"layshaft_request_seconds_sum{{{of}}} {seconds:.6f}")
        lines.append(f"layshaft_request_seconds_count{{{of}}} {so_far}")
        return lines


def _head(name: str, kind: str, text: str) -> list[str]:
    return [f"# HELP {name} {text}", f"# TYPE {name} {kind}"]


def _of(method: str, route: str) -> str:
    escaped = route.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'method="{method}",route="{escaped}"'


class Measured:
    """The outermost layer: counts every request and logs it as one line of JSON."""

    def __init__(self, app: ASGIApp, counts: Counts):
        self.app, self.counts = app, counts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        status, began = 500, time.perf_counter()

        async def noted(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        self.counts.begin()
        try:
            await self.app(scope, receive, noted)
        finally:
            seconds = time.perf_counter() - began
            method = scope["method"] if scope["method"] in METHODS else "other"
            route = getattr(scope.get("route"), "path", "unknown")
            self.counts.end(method, route, status, seconds)
            log.info("request", extra={"fields": {"method": method, "route": route, "status": status,
                                                  "ms": round(seconds * 1000, 2)}})  # fmt: skip


METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})


class JsonLines(logging.Formatter):
    """A log record as one JSON object: time (UTC), level, logger, message, and the record's own `fields`."""

    def format(self, record: logging.LogRecord) -> str:
        said = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(), "logger": record.name, "message": record.getMessage(),
            **getattr(record, "fields", {}),
        }  # fmt: skip
        if record.exc_info:
            said["exception"] = self.formatException(record.exc_info)
        return json.dumps(said, ensure_ascii=False)


def log_as_json(level: str = "INFO") -> None:
    """Every logger of this process writes JSON lines to standard error."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    logging.basicConfig(level=level, handlers=[handler], force=True)


def metrics_router(counts: Counts) -> APIRouter:
    """GET /metrics and GET /readyz."""
    router = APIRouter(tags=["service"])

    @router.get("/metrics", summary="What the service has counted", response_class=Response,
                responses={200: {"content": {"text/plain": {"schema": {"type": "string"}}}}})  # fmt: skip
    async def metrics(workshop: UsesWorkshop) -> Response:
        """Counters and gauges in the Prometheus text format."""
        known = workshop.index.catalogue
        sizes = {"parts": len(known.parts), "edges": len(known.edges)}
        lines = [*_head("layshaft_graph_things", "gauge", "Things that the graph knows.")]
        lines += [f'layshaft_graph_things{{kind="{kind}"}} {count}' for kind, count in sizes.items()]
        lines += _head("process_resident_memory_bytes", "gauge", "Resident memory of this process.")
        lines.append(f"process_resident_memory_bytes {resident_bytes()}")
        lines += _head("process_cpu_seconds_total", "counter", "Processor time of this process.")
        lines.append(f"process_cpu_seconds_total {time.process_time():.2f}")
        return Response(counts.as_text() + "\n".join(lines) + "\n", media_type=MEDIA_TYPE)

    @router.get("/readyz", summary="Can the service answer questions?", response_model=None)
    async def ready(workshop: UsesWorkshop) -> Response:
        """200 with what is ready; 503 as long as the graph holds no gearbox or no engine to ask about."""
        lacking = [unit for unit in ("gearbox", "engine") if not workshop.index.units(unit)]
        state = {"status": "waiting" if lacking else "ready", "lacking": lacking}
        return PlainJson(state, status_code=503 if lacking else 200)

    return router


def resident_bytes() -> int:
    """Memory of this process that is in use now; where the system does not tell, the most it ever was."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except (OSError, ValueError, IndexError):
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    return pages * os.sysconf("SC_PAGE_SIZE")

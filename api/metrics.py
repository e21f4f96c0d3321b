"""What the service counts, as text in the Prometheus exposition format (0.0.4), and one JSON line per request.

Counted: requests by method, route and status; their duration in a histogram; requests under way; the size of the
graph; memory and open files of the process. Routes are named by their template (`/parts/{id}`), so that the number of
series stays bounded whatever is asked for.
"""

from __future__ import annotations

import json
import logging
import os
import re
import resource
import shutil
import time
from contextvars import ContextVar
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from fastapi import APIRouter, Request, Response
from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, disable_created_metrics, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector
from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.roles import needs
from api.workshop import UsesWorkshop

BOUNDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)  # seconds
MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
REQUEST_ID = "x-request-id"
GONE = 499  # beside the registered codes: the client went away before there was anything to answer
log = logging.getLogger("layshaft.requests")
request_id: ContextVar[str] = ContextVar("request_id", default="")
SHARED = "PROMETHEUS_MULTIPROC_DIR"  # named by the library; set before it is loaded
disable_created_metrics()  # type: ignore[no-untyped-call]


class Counts:
    """Counters of the service; with several service processes (see `shared_counters`) of all of them together."""

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        labels, registry = ("method", "route"), self._registry
        self._requests = Counter("layshaft_requests", "Requests answered.", (*labels, "status"), registry=registry)
        words = "Time from a request to the end of its answer."
        self._seconds = Histogram("layshaft_request_seconds", words, labels, buckets=BOUNDS, registry=registry)
        self._under_way = Gauge(
            "layshaft_requests_under_way",
            "Requests being answered now.",
            multiprocess_mode="livesum",
            registry=registry,
        )

    def begin(self) -> None:
        """A request has come in."""
        self._under_way.inc()

    def end(self, method: str, route: str, status: int, seconds: float) -> None:
        """It has been answered."""
        self._under_way.dec()
        self._requests.labels(method, route, status).inc()
        self._seconds.labels(method, route).observe(seconds)

    def as_text(self) -> str:
        """All of it in the exposition format."""
        registry = self._registry
        if SHARED in os.environ:
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        return generate_latest(registry).decode()


def shared_counters(folder: Path) -> dict[str, str]:
    """The environment in which service processes count together, in a folder that is emptied for it."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    return {SHARED: str(folder)}


def _head(name: str, kind: str, text: str) -> list[str]:
    return [f"# HELP {name} {text}", f"# TYPE {name} {kind}"]


class MeasuredRequests:
    """The outermost layer: names, counts and times every request, and logs it as one line of JSON.

    The name is the client's own `X-Request-Id` where it sends a sensible one, and goes back in the same header.
    Neither bodies nor headers nor queries are logged, so that no secret is.
    """

    def __init__(self, app: ASGIApp, counts: Counts):
        self.app, self.counts = app, counts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        began, status, gone = time.perf_counter(), 0, False
        name = _name_of(scope)
        request_id.set(name)

        async def watched() -> Message:
            nonlocal gone
            message = await receive()
            gone = gone or message["type"] == "http.disconnect"
            return message

        async def noted(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = GONE if gone else message["status"]
                MutableHeaders(scope=message)[REQUEST_ID] = name
            await send(message)

        self.counts.begin()
        try:
            await self.app(scope, watched, noted)
        finally:
            self._end(scope, status or (GONE if gone else 500), time.perf_counter() - began)

    def _end(self, scope: Scope, status: int, seconds: float) -> None:
        method = scope["method"] if scope["method"] in METHODS else "other"
        route = getattr(scope.get("route"), "path", "unknown")
        self.counts.end(method, route, status, seconds)
        fields = {"method": method, "route": route, "status": status, "ms": round(seconds * 1000, 2)}
        log.info("request", extra={"fields": fields})


def _name_of(scope: Scope) -> str:
    sent = next((value for name, value in scope["headers"] if name == REQUEST_ID.encode()), b"")
    return sent.decode() if re.fullmatch(rb"[A-Za-z0-9._:-]{1,64}", sent) else uuid4().hex


STARTED = time.time()
METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})


class JsonLines(logging.Formatter):
    """A log record as one JSON object: time (UTC), level, logger, message, request, the record's own `fields`."""

    def format(self, record: logging.LogRecord) -> str:
        said = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(), "logger": record.name, "message": record.getMessage(),
            **({"request_id": request_id.get()} if request_id.get() else {}), **getattr(record, "fields", {}),
        }  # fmt: skip
        if record.exc_info:
            said["exception"] = self.formatException(record.exc_info)
        return json.dumps(said, ensure_ascii=False)


def log_as_json(level: str = "INFO") -> None:
    """Every logger of this process writes JSON lines to standard error."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    logging.basicConfig(level=level, handlers=[handler], force=True)
    logging.getLogger("httpx").setLevel(logging.WARNING)  # it tells whole addresses, with what stands in them


def metrics_router(counts: Counts) -> APIRouter:
    """GET /metrics."""
    router = APIRouter(tags=["service"])

    @needs("read")
    @router.get("/metrics", summary="What the service has counted", response_class=Response,
                responses={200: {"content": {"text/plain": {"schema": {"type": "string"}}}}})  # fmt: skip
    async def metrics(workshop: UsesWorkshop, request: Request) -> Response:
        """Counters and gauges in the Prometheus text format."""
        known = workshop.index.catalogue
        sizes = {"parts": len(known.parts), "edges": len(known.edges)}
        lines = [*_head("layshaft_graph_things", "gauge", "Things that the graph knows.")]
        lines += [f'layshaft_graph_things{{kind="{kind}"}} {count}' for kind, count in sizes.items()]
        return Response(
            counts.as_text() + "\n".join([*lines, *_backup_lines(request), *_process_lines()]) + "\n",
            media_type=MEDIA_TYPE,
        )

    return router


def _backup_lines(request: Request) -> list[str]:
    """How the backups by the clock fare, where there are any; the same from every service process."""
    keeper = getattr(request.app.state, "keeper", None)
    if keeper is None or keeper.plan is None:
        return []
    state = keeper.state()
    when = datetime.fromisoformat(state.good_at).timestamp() if state.good_at else 0
    told = [
        ("layshaft_backup_last_good_timestamp_seconds", "Last good backup, since 1970; 0: none yet.", f"{when:.0f}"),
        ("layshaft_backup_size_bytes", "Size of the last good backup.", str(state.size)),
        ("layshaft_backup_failing", "1 if the last try to make a backup failed.", str(int(bool(state.failure)))),
    ]
    return [line for name, text, value in told for line in (*_head(name, "gauge", text), f"{name} {value}")]


def _process_lines() -> list[str]:
    """What every Prometheus client library tells of its process, under the same names."""
    told: list[tuple[str, str, str, str]] = [
        ("process_resident_memory_bytes", "gauge", "Resident memory of this process.", str(resident_bytes())),
        ("process_cpu_seconds_total", "counter", "Processor time of this process.", f"{time.process_time():.2f}"),
        ("process_start_time_seconds", "gauge", "When this process started, since 1970.", f"{STARTED:.2f}"),
    ]
    if (files := Path("/proc/self/fd")).is_dir():
        told.append(("process_open_fds", "gauge", "Open files and connections.", str(len(os.listdir(files)))))
        most = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
        told.append(("process_max_fds", "gauge", "The most of them that the system allows.", str(most)))
    return [line for name, kind, text, value in told for line in (*_head(name, kind, text), f"{name} {value}")]


def resident_bytes() -> int:
    """Memory of this process that is in use now; where the system does not tell, the most it ever was."""
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except (OSError, ValueError, IndexError):
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    return pages * os.sysconf("SC_PAGE_SIZE")

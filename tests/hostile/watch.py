"""A watch over a running service: its memory, its children's, and how soon it says that it is well."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field
from types import TracebackType
from typing import Self

import httpx
import psutil

from tests.api.processes import PATIENCE_S, Service

EVERY_S = 0.03


@dataclass
class Watch:
    """Worst that was seen: resident bytes of the service, of one child, seconds until health was answered."""

    service: Service
    peak_bytes: int = 0
    child_bytes: int = 0
    health_s: float = 0.0
    worst_at: str = ""
    now: str = ""  # what is being sent; empty while it is made, which keeps this process, not the service, busy
    health_faults: list[str] = field(default_factory=list)
    _ended: threading.Event = field(default_factory=threading.Event)
    _threads: list[threading.Thread] = field(default_factory=list)

    def __enter__(self) -> Self:
        self._threads = [threading.Thread(target=each) for each in (self._weigh, self._ask)]
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: object, trace: TracebackType | None) -> None:
        self._ended.set()
        for thread in self._threads:
            thread.join()

    def _weigh(self) -> None:
        process = psutil.Process(self.service.process.pid)
        while not self._ended.wait(EVERY_S):
            try:
                self.peak_bytes = max(self.peak_bytes, process.memory_info().rss)
                for child in process.children():
                    self.child_bytes = max(self.child_bytes, child.memory_info().rss)
            except psutil.NoSuchProcess:  # a child that has just ended; the service itself is asked by others
                continue

    def _ask(self) -> None:
        with httpx.Client(base_url=self.service.address, timeout=PATIENCE_S) as client:
            while not self._ended.wait(EVERY_S):
                sent, began = self.now, time.perf_counter()
                answer = client.get("/healthz")
                took = time.perf_counter() - began
                if answer.status_code != 200:
                    self.health_faults.append(f"{answer.status_code} at {sent}")
                if sent and sent == self.now and took > self.health_s:
                    self.health_s, self.worst_at = took, sent


def resident(service: Service) -> int:
    """The service's own resident bytes now."""
    return int(psutil.Process(service.process.pid).memory_info().rss)

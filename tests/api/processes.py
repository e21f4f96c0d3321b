"""The service in a process of its own, as scripts/start runs it, and raw connections to it."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

ROOT = Path(__file__).parents[2]
PATIENCE_S = 60  # far more than any step needs; only a fault reaches it


@dataclass
class Service:
    """A running service; `log` is its standard error."""

    process: subprocess.Popen[str]
    port: int
    log: Path
    connections: list[socket.socket] = field(default_factory=list)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def connect(self, *sent: bytes) -> socket.socket:
        """A connection on which this was sent and nothing read."""
        made = socket.create_connection(("127.0.0.1", self.port), PATIENCE_S)
        self.connections.append(made)
        for each in sent:
            made.sendall(each)
        return made

    def hang_up(self) -> None:
        """Closes every connection that `connect` made."""
        for connection in self.connections:
            connection.close()
        self.connections.clear()

    def get(self, path: str, **options: Any) -> httpx.Response:
        return httpx.get(self.address + path, timeout=PATIENCE_S, **options)

    def post(self, path: str, **options: Any) -> httpx.Response:
        return httpx.post(self.address + path, timeout=PATIENCE_S, **options)

    def stop(self) -> int:
        """Tells it to stop; its exit status."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(PATIENCE_S)

    def lines(self) -> list[dict[str, Any]]:
        """What it has logged; each line must be JSON."""
        return [json.loads(line) for line in self.log.read_text().splitlines()]


@contextmanager
def running(data: Path, **settings: int | str) -> Iterator[Service]:
    """A service over a data folder, with settings such as `request_seconds=1`; killed at the end if still there."""
    environment = os.environ | {f"LAYSHAFT_{name.upper()}": str(value) for name, value in settings.items()}
    command = [sys.executable, "-m", "api", "--data", str(data), "--port", "0"]
    log = data.with_suffix(".log")
    with log.open("w") as errors, subprocess.Popen(
        command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=errors, text=True
    ) as process:  # fmt: skip
        try:
            assert process.stdout is not None
            found = next((each for line in process.stdout if (each := re.search(r"127\.0\.0\.1:(\d+)", line))), None)
            assert found, log.read_text()
            service = Service(process, int(found[1]), log)
            try:
                yield service
            finally:  # also after a failure: what is left open is blamed on whichever test comes next
                service.hang_up()
        finally:
            process.kill()


def read_to_end(connection: socket.socket) -> bytes:
    """All that comes until the other side closes; also where it does so in anger."""
    parts = []
    try:
        while part := connection.recv(1 << 16):
            parts.append(part)
    except ConnectionResetError:
        pass
    return b"".join(parts)


def status_of(answer: bytes) -> int:
    """The status of a raw answer."""
    return int(answer.split(b" ", 2)[1])

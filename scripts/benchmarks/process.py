"""The service in a process of its own, and what the system and the service say of it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import clock_gettime, perf_counter

from scripts.benchmarks.clock import in_words

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Service:
    """A running service; `log`: what it wrote to standard error."""

    process: subprocess.Popen[str]
    port: int
    log: Path

    def resident_mb(self) -> float:
        """Resident memory of its process, children not counted, MB of 2^20 bytes."""
        return _resident_mb(self.process.pid)

    def resident_of_all_mb(self) -> float:
        """The same of it and of all processes that it has started."""
        return sum(map(_resident_mb, _with_children(self.process.pid)))

    def cpu_s(self) -> float:
        """Processor time that it and those that it has started have used so far."""
        return sum(map(_cpu_s, _with_children(self.process.pid)))

    def worked_s(self) -> float:
        """The same to the nanosecond: Linux names a process's clock so (clock_getcpuclockid(3))."""
        return clock_gettime(~self.process.pid << 3 | 2)

    def stop(self) -> str:
        """Tells it to stop; how that ended, in words."""
        began = perf_counter()
        self.process.send_signal(signal.SIGTERM)
        try:
            status = self.process.wait(30)
        except subprocess.TimeoutExpired:
            return "still running after 30 s"
        return f"ended with status {status} after {in_words(perf_counter() - began)}"


def _with_children(pid: int) -> list[int]:
    found = [pid]
    for file in Path(f"/proc/{pid}/task").glob("*/children"):
        for child in file.read_text().split():
            found += _with_children(int(child))
    return found


def _resident_mb(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def _cpu_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@contextmanager
def served(data: Path | None = None, workers: int = 1, **settings: int) -> Iterator[Service]:
    """The service, with settings such as `request_seconds=2`; killed at the end if it is still there.

    `data`: the folder it stands on, which stays; without one it gets a new one. `workers`: service processes.
    """
    environment = os.environ | {f"LAYSHAFT_{name.upper()}": str(value) for name, value in settings.items()}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        command = [
            sys.executable,
            "-m",
            "api",
            "--data",
            str(data or folder / "data"),
            "--port",
            "0",
            "--workers",
            str(workers),
        ]
        with (folder / "log").open("w") as log:
            process = subprocess.Popen(
                command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=log, text=True
            )  # fmt: skip
        try:
            yield Service(process, _port(process), folder / "log")
        finally:
            process.kill()
            process.wait()


def _port(process: subprocess.Popen[str]) -> int:
    assert process.stdout is not None
    for line in process.stdout:
        if found := re.search(r"http://127\.0\.0\.1:(\d+)", line):
            return int(found[1])
    raise SystemExit("the service did not start")

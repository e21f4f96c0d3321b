"""A real small disk that can be filled and freed: a file system in memory, mounted for one test (needs root)."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True)
class Disk:
    """`path`: where it is mounted."""

    path: Path

    def fill(self) -> None:
        """Takes all space that is left."""
        with (self.path / "ballast").open("ab", buffering=0) as file:
            for size in (1 << 16, 1 << 12, 1):
                _write_until_full(file.fileno(), b"\0" * size)

    def free(self) -> None:
        """Gives back what `fill` took."""
        (self.path / "ballast").unlink()

    def protect(self) -> None:
        """From now on it can only be read, like a finished disc."""
        subprocess.run(["mount", "-o", "remount,ro", str(self.path)], check=True)


def _write_until_full(handle: int, data: bytes) -> None:
    try:
        while True:
            os.write(handle, data)
    except OSError:
        return


@contextmanager
def mounted_or_skip(folder: Path, size: str) -> Iterator[Disk]:
    """A disk of this size ("2m") at the folder; the test is skipped where nobody may mount one."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={size}", "none", str(folder)]
    if os.getuid() != 0 or subprocess.run(command, check=False, capture_output=True).returncode:
        pytest.skip("mounting a small disk needs root and the right to mount")
    try:
        yield Disk(folder)
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)

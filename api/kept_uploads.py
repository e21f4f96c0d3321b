"""Files that somebody was shown a preview of, kept in the data folder until they are taken in, named by their content.

Any service process on the folder finds them. The oldest go when there are many, and all of them after a day.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from typing import IO

from fastapi import Request

from graph.errors import NotFound, StoreProblem

MOST_KEPT, DAY_S = 20, 86_400
_NAME = re.compile(r"[0-9a-f]{64}")


class KeptUploads:
    """The files in a folder, which is made when the first one comes."""

    def __init__(self, folder: Path):
        self.folder = folder

    def keep(self, file: IO[bytes]) -> str:
        """The name under which the file is found again. Raises StoreProblem."""
        file.seek(0)
        digest = hashlib.file_digest(file, "sha256").hexdigest()  # type: ignore[arg-type]
        file.seek(0)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            descriptor, path = tempfile.mkstemp(dir=self.folder, prefix=".")
            with os.fdopen(descriptor, "wb") as kept:
                while part := file.read(1 << 20):
                    kept.write(part)
            os.replace(path, self.folder / digest)
        except OSError as error:
            raise StoreProblem(f"the folder {self.folder} did not take a file: {error}") from error
        self._forget_old()
        return digest

    def open(self, name: str) -> IO[bytes]:
        """The file. Raises NotFound for one that is not kept (any more)."""
        try:
            if not _NAME.fullmatch(name):
                raise FileNotFoundError
            return (self.folder / name).open("rb")
        except FileNotFoundError:
            raise NotFound("uploaded file", name[:80]) from None

    def forget(self, name: str) -> None:
        """It is needed no more."""
        if _NAME.fullmatch(name):
            (self.folder / name).unlink(missing_ok=True)

    def _forget_old(self) -> None:
        found = []
        for path in self.folder.iterdir():
            with suppress(FileNotFoundError):  # another process was first
                found.append((path.stat().st_mtime, path))
        found.sort(reverse=True)
        for place, (when, path) in enumerate(found):
            if place >= MOST_KEPT or time.time() - when > DAY_S:
                path.unlink(missing_ok=True)


def uploads_of(request: Request) -> KeptUploads:
    """The app's kept uploads."""
    state = request.app.state
    if not hasattr(state, "uploads"):
        work = getattr(state, "work_folder", None)
        folder = work.folder if work else Path(tempfile.mkdtemp(prefix="layshaft-uploads-"))
        state.uploads = KeptUploads(folder / "uploads")
    found = state.uploads
    assert isinstance(found, KeptUploads)
    return found

"""Files that a command writes: of an ending that it can write, whole or not at all, and what the system refused."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from graph.errors import InvalidInput, Problem, StoreProblem

DRAWINGS = (".dxf", ".pdf", ".svg")
PAPERS = ("A4", "A3", "A2", "A1", "A0", "Letter")


def asked_file(name: str, endings: Sequence[str], option: str = "--out") -> Path:
    """The file of that name. Raises InvalidInput where it ends in none of `endings` (lower case, with the point)."""
    file = Path(name)
    if file.suffix.lower() not in endings:
        wanted = " or ".join((", ".join(endings[:-1]), endings[-1])) if len(endings) > 1 else endings[0]
        raise InvalidInput([Problem(option, f"expected a name ending in {wanted}, found {file.name!r}")])
    return file


def form_of(file: Path) -> str:
    """What the file's ending asks for: `pdf` of `Plate.PDF`."""
    return file.suffix.lower().removeprefix(".")


def write_file(file: Path, made: bytes | str) -> None:
    """Writes it whole, see `written_whole`."""
    with written_whole(file) as out:
        out.write(made.encode() if isinstance(made, str) else made)


@contextmanager
def written_whole(file: Path) -> Iterator[IO[bytes]]:
    """A file to write to, which takes its place once it is whole; what stood there stays until then.

    A device or pipe is written to as it stands. Raises StoreProblem with what the system said.
    """
    try:
        with _in_place(file) if file.exists() and not file.is_file() else _beside(file.resolve()) as out:
            yield out
    except OSError as error:
        raise StoreProblem(f"{file} was not written: {refusal(error)}") from error


def refusal(error: OSError) -> str:
    """What the system refused, in words.

    >>> refusal(FileNotFoundError(2, "No such file or directory", "prices.csv"))
    'no such file or folder: prices.csv'
    """
    said = "no such file or folder" if isinstance(error, FileNotFoundError) else (error.strerror or str(error)).lower()
    return f"{said}: {error.filename}" if error.filename else said


def _in_place(file: Path) -> IO[bytes]:
    return file.open("wb")


@contextmanager
def _beside(place: Path) -> Iterator[IO[bytes]]:
    if not place.parent.is_dir():
        raise FileNotFoundError(2, "", str(place.parent))
    draft = place.with_name(f".{place.name[:100]}.{os.getpid()}.part")
    try:
        with draft.open("wb") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        if place.exists():
            draft.chmod(place.stat().st_mode & 0o777)
        os.replace(draft, place)
    finally:
        draft.unlink(missing_ok=True)

"""What is the matter with a disk, in plain words: which one, how much is left, what to do."""

from __future__ import annotations

import errno
import os
from pathlib import Path

LITTLE_BYTES = 256 << 10  # with less than this left a disk counts as full: the smallest write of a store takes more
_FULL = (errno.ENOSPC, errno.EDQUOT)
_FULL_WORDS = ("no space left", "disk is full", "disk full", "quota exceeded")


def left_on(path: Path) -> tuple[int, int]:
    """Bytes that this program may still write on the disk that holds `path`, and bytes that it has in all.

    `path` need not exist yet; its nearest folder that does is looked at. Raises OSError where even that fails.
    """
    place = path
    while not place.exists() and place != place.parent:
        place = place.parent
    found = os.statvfs(place)
    free = found.f_bfree if os.geteuid() == 0 else found.f_bavail
    return free * found.f_frsize, found.f_blocks * found.f_frsize


def has_room(path: Path) -> bool:
    """Whether the disk that holds `path` takes any more."""
    return left_on(path)[0] >= LITTLE_BYTES


def means_full(error: BaseException) -> bool:
    """Whether an error says that a disk is full, by its number or by its words (stores pass on only words)."""
    if isinstance(error, OSError) and error.errno in _FULL:
        return True
    text = str(error).lower()
    return any(words in text for words in _FULL_WORDS)


def full_words(path: Path) -> str:
    """
    >>> full_words(Path("/")).partition(" is full (")[0]
    'the disk that holds /'
    """
    left, whole = left_on(path)
    limit = " though: is there a quota?" if left >= LITTLE_BYTES else ""
    return f"the disk that holds {path} is full ({sized(left)} of {sized(whole)} left{limit})"


def unwritten_words(path: Path, error: OSError) -> str:
    """Why nothing could be written at `path`."""
    return full_words(path) if means_full(error) else f"{path} cannot be written ({error.strerror})"


def sized(count: int) -> str:
    """A number of bytes as people read it (SI prefixes, ISO 80000-1).

    >>> [sized(0), sized(999), sized(4_200_000), sized(84_500_000_000)]
    ['0 bytes', '999 bytes', '4.2 MB', '84.5 GB']
    """
    for size, unit in ((10**9, "GB"), (10**6, "MB"), (10**3, "kB")):
        if count >= size:
            return f"{count / size:.1f} {unit}"
    return f"{count} bytes"

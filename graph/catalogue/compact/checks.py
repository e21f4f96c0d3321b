"""Is the file still what was written? A check sum for each block of it, and one for the head that lists them.

CRC-32 as in ISO/IEC/IEEE 8802-3, 3.2.9, and ITU-T V.42, 8.1.1.6.2: every error of up to 32 bits in a row is found, any
other but for one in four thousand million. It guards against disks and hands, not against somebody who makes a new
sum: whoever may write the file may also write the facts that it is made from.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from zlib import crc32

BLOCK = 1 << 20


class BlockSums:
    """The sums of a file that is being written, fed with its bytes in order."""

    def __init__(self) -> None:
        self._sums: list[int] = []
        self._sum, self._filled = 0, 0

    def take(self, data: memoryview) -> None:
        """The next bytes."""
        while len(data):
            part = data[: BLOCK - self._filled]
            self._sum, self._filled = crc32(part, self._sum), self._filled + len(part)
            if self._filled == BLOCK:
                self._sums.append(self._sum)
                self._sum, self._filled = 0, 0
            data = data[len(part) :]

    def all(self) -> list[int]:
        """Of every block, the last one maybe a short one."""
        return [*self._sums, self._sum] if self._filled else list(self._sums)


def find_wrong_block(data: memoryview, sums: Sequence[int]) -> int | None:
    """The first block that is not what its sum says; None if all are. Done by as many threads as there are cores.

    >>> find_wrong_block(memoryview(b"16.05"), [crc32(b"16.05")]) is None
    True
    >>> find_wrong_block(memoryview(b"16.06"), [crc32(b"16.05")])
    0
    """
    if len(sums) != -(-len(data) // BLOCK):
        return min(len(sums), len(data) // BLOCK)

    def is_wrong(block: int) -> bool:
        return crc32(data[block * BLOCK : (block + 1) * BLOCK]) != sums[block]

    with ThreadPoolExecutor(os.cpu_count()) as threads:  # the sum is made without holding up other threads
        return next((block for block, wrong in enumerate(threads.map(is_wrong, range(len(sums)))) if wrong), None)

"""How often the process looks for cycles of objects to free."""

from __future__ import annotations

import gc

COLLECT_AFTER = 20_000  # new objects; a question makes about as many


def collect_seldom() -> None:
    """What was loaded stays: the search for cycles need not walk it, nor the kept look-ups at every few questions.

    Measured at 10^5 parts: one question in fifty waited 0.2 s for it.
    """
    gc.enable()
    gc.collect()
    gc.freeze()
    gc.set_threshold(COLLECT_AFTER, 20, 50)

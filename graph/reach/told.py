"""What a line of one to many rests on, in words: what nobody has stated, and what of its sums has no price.

The same as the answer to the pair says of its route, from the same assumptions; so that a line which only looks cheap
because nobody has stated something is not taken for proven.
"""

from __future__ import annotations

from collections.abc import Sequence

from graph.answer.assumed import told_shortly


def told_of(assumed: Sequence[str], unpriced: Sequence[str]) -> tuple[str, ...]:
    """How much the line assumes and what, then why its sums are "at least"; nothing where all is stated.

    >>> told_of(["disc of the box: not known"], ["price of the disc"])
    ('assumes 1 thing: disc of the box: not known', 'at least, because it is not stated: price of the disc')
    """
    things = f"{len(assumed)} thing{'' if len(assumed) == 1 else 's'}"
    return (
        *([f"assumes {things}: {told_shortly(assumed)}"] if assumed else []),
        *([f"at least, because it is not stated: {told_shortly(unpriced)}"] if unpriced else []),
    )

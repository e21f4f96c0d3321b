"""Where commands print: a terminal as wide as it is, or lines for a file or another program, without trailing spaces.

Tables are laid out for `WIDTH_WITHOUT_TERMINAL` characters where nobody looks, whatever the environment says.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console

from graph.answer.text import WIDTH_WITHOUT_TERMINAL


@contextmanager
def console() -> Iterator[Console]:
    """A console on the standard output; off a terminal what was printed goes out at the end, each line trimmed."""
    if sys.stdout.isatty():
        yield Console(highlight=False)
        return
    page = io.StringIO()
    yield Console(file=page, width=WIDTH_WITHOUT_TERMINAL, color_system=None, highlight=False)
    print("\n".join(line.rstrip() for line in page.getvalue().splitlines()))

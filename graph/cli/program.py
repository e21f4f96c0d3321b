"""How the commands are called from here, as words that can be pasted into a shell and run."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def command(*words: str, data: Path | None = None) -> str:
    """The command with the Python that runs now, on this data folder; elsewhere it goes to the checkout first.

    >>> command("token", "list").endswith("-m graph token list")
    True
    """
    python, here = Path(sys.executable), Path.cwd() == ROOT
    known = python.relative_to(ROOT) if here and python.is_relative_to(ROOT) else python
    said = [str(known), "-m", "graph", *words, *(("--data", str(data.resolve())) if data else ())]
    return ("" if here else f"cd {shlex.quote(str(ROOT))} && ") + shlex.join(said)

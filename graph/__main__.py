"""`python -m graph`: ask, solve, check, convert, parts."""

import gc
import sys
from pathlib import Path

MISSING = """python -m graph needs libraries that this Python ({python}) does not have: {name} is missing.
scripts/start installs them beside the program, in {venv}; then call it so:
  {venv}/bin/python -m graph {words}"""


def run(words: list[str]) -> int:
    """The commands; where a library is missing, what to do instead of a traceback."""
    gc.disable()  # while it loads: none of that is garbage
    try:
        from graph.cli.main import main

        gc.enable()
        gc.freeze()
        return main(words)
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] in ("graph", "api", ""):
            raise
        venv = Path(__file__).resolve().parents[1] / ".venv"
        told = MISSING.format(python=sys.executable, name=error.name, venv=venv, words=" ".join(words))
        print(told.rstrip(), file=sys.stderr)
        return 2


if __name__ == "__main__":
    sys.exit(run(sys.argv[1:]))

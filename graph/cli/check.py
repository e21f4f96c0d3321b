"""`check FILE...`: are these facts well-formed and complete?"""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from graph.catalogue.load import check_facts
from graph.errors import InvalidFacts


def run(arguments: Namespace) -> int:
    """Says how many files are in order. Raises InvalidFacts with one problem per fault."""
    paths = [Path(name) for name in arguments.files]
    problems = check_facts(paths)
    if problems:
        raise InvalidFacts(problems)
    print(f"{len(paths)} checked, nothing wrong")
    return 0

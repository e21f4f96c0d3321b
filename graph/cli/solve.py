"""`solve FILE`: a conversion document in, one JSON object out. Imports only the parser and the search."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from pathlib import Path

from graph.conversion.parse import parse_conversion
from graph.errors import InvalidDocument, Problem
from graph.search import as_json, solve
from graph.search.result import OBJECTIVES

MOST_ALTERNATIVES = 100


def run(arguments: Namespace) -> int:
    """Prints the solution. Raises InvalidDocument with one problem per fault."""
    check_options(arguments.objective, arguments.alternatives)
    data = sys.stdin.buffer.read() if arguments.file == "-" else Path(arguments.file).read_bytes()
    conversion = parse_conversion(data)
    solution = solve(conversion, objective=arguments.objective, alternatives=arguments.alternatives)
    print(json.dumps(as_json(solution), ensure_ascii=False))
    return 0


def check_options(objective: str, alternatives: int) -> None:
    """Raises InvalidDocument where the two options are not what the search takes."""
    problems = []
    if objective not in OBJECTIVES:
        problems.append(Problem("objective", f"expected one of {', '.join(OBJECTIVES)}; found {objective!r}"))
    if not 0 <= alternatives <= MOST_ALTERNATIVES:
        problems.append(Problem("alternatives", f"expected 0 to {MOST_ALTERNATIVES}; found {alternatives}"))
    if problems:
        raise InvalidDocument(problems)

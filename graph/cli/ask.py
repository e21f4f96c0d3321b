"""`ask GEARBOX ENGINE`: the answer as tables, in colour only on a terminal, or as one JSON object."""

from __future__ import annotations

import json
import sys
from argparse import Namespace

from rich.console import Console

from graph.answer.serial import answer_as_json
from graph.answer.text import WIDTH_WITHOUT_TERMINAL, print_answer
from graph.cli.question import question_of
from graph.cli.shop import shop_of


def run(arguments: Namespace) -> int:
    """Prints the answer; exit status 0 whether or not there is a route."""
    question = question_of(arguments)
    with shop_of(arguments) as shop:
        answer = shop.ask(question, with_changes=True)
    if arguments.json:
        print(json.dumps(answer_as_json(answer), ensure_ascii=False))
    else:
        width = None if sys.stdout.isatty() else WIDTH_WITHOUT_TERMINAL
        print_answer(answer, Console(highlight=False, width=width))
    return 0

"""`ask GEARBOX ENGINE`: the answer as tables, in colour only on a terminal, or as one JSON object."""

from __future__ import annotations

import json
from argparse import Namespace

from graph.answer.serial import answer_as_json
from graph.answer.text import print_answer
from graph.cli.console import console
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
        with console() as out:
            print_answer(answer, out)
    return 0

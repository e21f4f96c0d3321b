"""`ask GEARBOX ENGINE`: the answer as tables, in colour only on a terminal, or as one JSON object.

`ask --words TEXT`: the same for a question in words, once everything in it is certain and every word understood.
"""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from dataclasses import fields, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from graph.answer.serial import answer_as_json
from graph.answer.text import print_answer
from graph.cli.console import console
from graph.cli.question import question_of
from graph.cli.shop import shop_of
from graph.errors import InvalidQuestion, Problem
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

if TYPE_CHECKING:
    from graph.spoken import InWords, SpokenWord


def run(arguments: Namespace) -> int:
    """Prints the answer; exit status 0 whether or not there is a route. Raises InvalidQuestion, also for words that
    can be read in two ways, are not understood, or name no gearbox or engine."""
    question = question_of(arguments)
    if not arguments.words and not (question.gearbox and question.engine):
        raise InvalidQuestion([Problem("ask", 'name a GEARBOX and an ENGINE, or ask in words with --words "..."')])
    with shop_of(arguments) as shop:
        if arguments.words:
            question = _in_words(shop.index, arguments, question)
        answer = shop.ask(question, with_changes=True)
    if arguments.json:
        print(json.dumps(answer_as_json(answer), ensure_ascii=False))
    else:
        with console() as out:
            print_answer(answer, out, with_why=arguments.why)
    return 0


def _in_words(index: CatalogueIndex, arguments: Namespace, options: Question) -> Question:
    """What the words ask, with the command's options beside them; where both say something, the options hold."""
    from graph.spoken import understand  # here, for the words are many and most questions are asked with ids

    found = understand(index, arguments.words, date.today())
    told = sys.stderr if arguments.json else sys.stdout
    for line in _told(found):
        print(line, file=told)
    question = _beside(found.question(), options)
    problems = [Problem(f'"{one.words}"', f"{one.asked}: {_choices(one.choices)}") for one in found.doubts]
    problems += [
        Problem(what, f"no {what} was understood; name one")
        for what in found.missing
        if not getattr(question, what) and not any(what == one.field for each in found.doubts for one in each.choices)
    ]
    if not arguments.as_understood:
        problems += _left_over(found)
    if problems:
        raise InvalidQuestion(problems)
    return question


def _told(found: InWords) -> list[str]:
    lines = [f'understood: {chip.label} (from "{chip.words}")' for chip in found.chips]
    return lines + [f"not understood: {one.word}{_why(one)}" for one in found.left_over]


def _why(word: SpokenWord) -> str:
    if word.reason:
        return f" ({word.reason})"
    return f": {' or '.join(word.near)}?" if word.near else ""


def _left_over(found: InWords) -> list[Problem]:
    """Words that were not understood, as one problem: what they were to say is not in the question."""
    left = " ".join(one.word for one in found.not_understood)
    told = "not understood: say it in other words, leave it out, or add --as-understood to ask without it"
    return [Problem(f'"{left}"', told)] if left else []


def _choices(choices: Any) -> str:
    return "; ".join(f"{one.label} ({one.field} {one.value})" for one in choices)


def _beside(words: Question, options: Question) -> Question:
    plain, changed = Question(gearbox="", engine=""), dict[str, Any]()
    for field in fields(Question):
        said, given = getattr(words, field.name), getattr(options, field.name)
        if isinstance(given, dict):
            changed[field.name] = {**said, **given}
        elif isinstance(given, tuple):
            changed[field.name] = tuple(dict.fromkeys((*said, *given)))
        elif given != getattr(plain, field.name):
            changed[field.name] = given
    return replace(words, **changed)

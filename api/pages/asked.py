"""The question in the address bar: read from it, written into it. Whoever has the address has the whole question.

Names are the question's own (`gearbox`, `avoid`, `evidence_floor`); what is known of the job stands as
`known.torque_nm` and so on, several values with commas between them; what is tried as `price.PART` and
`odds.FAULT`. What is left empty is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from pydantic import ValidationError
from starlette.datastructures import QueryParams

from api.addresses import ReadNames
from api.fault_words import dotted, fault_words
from api.questions import QuestionBody
from graph.errors import InvalidInput, InvalidQuestion, Problem
from graph.exact import HUNDREDTHS
from graph.fits.decimals import decimal_of
from graph.reading.question import Question

KNOWN = "known."
LISTS = ("avoid", "own", "features", "demands")
PLAIN = ("gearbox", "engine", "vehicle", "objective", "evidence_floor", "alternatives", "assembly")
SWITCHES = ("part_exchange", "refuse_disputed", "without_machining", "from_shelf")
NUMBERS = {"rate": 2, "deadline": 4, "instead": 2, "most_assumed": 0}  # with at most so many decimals
ODDS, PRICE = "odds.", "price."  # values that are tried, by the id behind; odds in per cent
QUESTION_NAMES = ReadNames(
    frozenset((*PLAIN, *SWITCHES, *NUMBERS)), frozenset(LISTS), starts=(ODDS, PRICE), often_starts=(KNOWN,)
)
# A list over many units stands on what the shop knows: nothing is tried in it, and it has no alternatives.
LIST_NAMES = replace(QUESTION_NAMES, once=QUESTION_NAMES.once - {"alternatives"}, starts=())
DEFAULTS = Question(gearbox="", engine="")


def question_of(parameters: QueryParams) -> Question:
    """The question that the address asks. Raises InvalidQuestion, with a problem for each field that cannot be read."""
    found: dict[str, Any] = {"context": {}}
    problems: list[Problem] = []
    for name in PLAIN:
        if text := parameters.get(name, "").strip():
            found[name] = text
    for name in LISTS:
        found[name] = list(dict.fromkeys(text.strip() for text in parameters.getlist(name) if text.strip()))
    for name in NUMBERS:
        if text := parameters.get(name, "").strip():
            found[name] = _number(text, name, problems)
    for name in SWITCHES:
        found[name] = parameters.get(name, "") not in ("", "no")
    found["odds"], found["prices"] = _tried(parameters, problems)
    for name in dict.fromkeys(parameters):
        if name.startswith(KNOWN):
            pieces = (piece for text in parameters.getlist(name) for piece in text.split(","))
            values = list(dict.fromkeys(piece.strip() for piece in pieces if piece.strip()))
            if values:
                found["context"][name.removeprefix(KNOWN)] = values[0] if len(values) == 1 else values
    try:
        question = QuestionBody.model_validate(found).question()
    except ValidationError as error:
        problems += (Problem(dotted(one["loc"]), fault_words(one)) for one in error.errors())
    if problems:
        raise InvalidQuestion(problems)
    return question


def _tried(parameters: QueryParams, problems: list[Problem]) -> tuple[dict[str, Decimal], dict[str, str]]:
    odds, prices = dict[str, Decimal](), dict[str, str]()
    for name in dict.fromkeys(parameters):
        text = parameters.get(name, "").strip()
        if text and name.startswith(ODDS) and (percent := _number(text, name, problems, "30")) is not None:
            odds[name.removeprefix(ODDS)] = Decimal(percent) / 100
        elif text and name.startswith(PRICE) and (price := _number(text, name, problems, "120")) is not None:
            prices[name.removeprefix(PRICE)] = price
    return odds, prices


def _number(text: str, name: str, problems: list[Problem], example: str = "") -> str | None:
    try:
        such = example or ("62.50" if name == "rate" else "9")
        return decimal_of(text, name, such, places=NUMBERS.get(name, 2))
    except InvalidInput as error:
        problems += error.problems
        return None


def parameters_of(question: Question) -> list[tuple[str, str]]:
    """The question as the pairs that stand in its address; what is left at its default is left out."""
    pairs = [(name, str(getattr(question, name))) for name in PLAIN if getattr(question, name) != _default(name)]
    pairs += [(KNOWN + key, value) for key, values in question.context.items() for value in _texts(values)]
    pairs += [(name, value) for name in LISTS for value in getattr(question, name)]
    pairs += [(name, "yes") for name in SWITCHES if getattr(question, name)]
    if question.rate_hundredths is not None:
        pairs.append(("rate", _decimal(Fraction(question.rate_hundredths, HUNDREDTHS))))
    pairs += [(ODDS + fault, _decimal(odds * 100)) for fault, odds in question.odds.items()]
    pairs += [(PRICE + part, _decimal(Fraction(price, HUNDREDTHS)))
              for part, price in question.prices_hundredths.items()]  # fmt: skip
    if question.deadline is not None:
        pairs.append(("deadline", _decimal(question.deadline)))
    if question.instead_hundredths is not None:
        pairs.append(("instead", _decimal(Fraction(question.instead_hundredths, HUNDREDTHS))))
    if question.most_assumed is not None:
        pairs.append(("most_assumed", str(question.most_assumed)))
    return pairs


def address(path: str, question: Question, more: Iterable[tuple[str, str]] = ()) -> str:
    """The address of a page about the question.

    >>> address("/compare", Question(gearbox="g", engine="e", avoid=("plate",)), [("rank", "2")])
    '/compare?gearbox=g&engine=e&avoid=plate&rank=2'
    """
    return f"{path}?{urlencode([*parameters_of(question), *more])}"


def asked_anything(parameters: Mapping[str, str]) -> bool:
    """Whether the address names both units, which is the least that makes a question."""
    return bool(parameters.get("gearbox", "").strip() and parameters.get("engine", "").strip())


def _default(name: str) -> Any:
    return getattr(DEFAULTS, name)


def _texts(value: object) -> tuple[str, ...]:
    return tuple(map(str, value)) if isinstance(value, tuple) else (str(value),)


def _decimal(value: Fraction) -> str:
    """The value as the shortest decimal; the address only ever holds what was typed as one."""
    return f"{(Decimal(value.numerator) / Decimal(value.denominator)).normalize():f}"

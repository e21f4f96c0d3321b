"""A question from the command line's arguments, and where a data folder has its facts."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

from graph.counter.opened import OWN_FACTS
from graph.errors import InvalidInput, InvalidQuestion, Problem
from graph.exact import HUNDREDTHS, NotExact, fraction_of, scaled
from graph.reading.question import Question

DEMO_FACTS = Path(__file__).resolve().parents[2] / "facts" / "demo"
# In the demo workshop the sum of stand-alone prices picks another route than the true cost does.
DEMO_QUESTION = Question(
    gearbox="hollin-5", engine="ouzel-20", vehicle="sorrel-pick-up", context={"torque_nm": "180", "duty": "road"}
)


def facts_of(data: Path) -> Path:
    """The folder of facts below a data folder: its own (`facts`, be it empty), or the demo's if it never had any.

    Raises InvalidInput where the own one is gone or no folder.
    """
    own = data / "facts"
    if own.is_dir():
        return own
    if own.is_symlink() or own.exists():
        what = f"leads to {own.resolve()}, which is no folder of facts; is it mounted?"
        raise InvalidInput([Problem(str(own), what)])
    if (mark := data / OWN_FACTS).exists():
        what = "is gone, though this workshop had facts of its own; put it back, or delete"
        raise InvalidInput([Problem(str(own), f"{what} {mark} to use the demo's")])
    return DEMO_FACTS


def question_of(arguments: Namespace) -> Question:
    """The question as asked. Raises InvalidQuestion with one problem per option that cannot be read."""
    problems: list[Problem] = []
    rate = _number(arguments.rate, "--rate", problems)
    deadline = _number(arguments.deadline, "--deadline", problems)
    seconds = _number(arguments.seconds, "--seconds", problems)
    memory_mb = _number(arguments.memory_mb, "--memory-mb", problems)
    instead = _number(arguments.instead, "--instead", problems)
    most_assumed = _number(arguments.most_assumed, "--most-assumed", problems)
    if most_assumed is not None and most_assumed.denominator != 1:
        problems.append(Problem("--most-assumed", f"expected a whole number; found {arguments.most_assumed!r}"))
    context = _context(arguments.context, problems)
    odds, prices = _tried(arguments.odds, "--odds", problems), _tried(arguments.price, "--price", problems)
    if problems:
        raise InvalidQuestion(problems)
    return Question(
        gearbox=arguments.gearbox,
        engine=arguments.engine,
        vehicle=arguments.vehicle,
        context=context,
        avoid=tuple(arguments.avoid),
        own=tuple(arguments.own),
        part_exchange=arguments.part_exchange,
        features=tuple(arguments.feature),
        demands=tuple(arguments.demand),
        evidence_floor=arguments.evidence_floor,
        refuse_disputed=arguments.refuse_disputed,
        without_machining=arguments.without_machining,
        from_shelf=arguments.from_shelf,
        rate_hundredths=None if rate is None else int(rate * HUNDREDTHS),
        odds=odds,
        prices_hundredths={part: int(price * HUNDREDTHS) for part, price in prices.items()},
        deadline=deadline,
        objective=arguments.objective,
        alternatives=arguments.alternatives,
        assembly=arguments.assembly,
        instead_hundredths=None if instead is None else int(instead * HUNDREDTHS),
        most_assumed=None if most_assumed is None else int(most_assumed),
        seconds=seconds,
        memory_mb=None if memory_mb is None else int(memory_mb),
    )


def command_of(question: Question) -> str:
    """The command that asks a question of units and context only."""
    words = ["python -m graph ask", question.gearbox, question.engine]
    words += ["--vehicle", question.vehicle] if question.vehicle else []
    words += [f"--set {key}={value}" for key, value in question.context.items()]
    return " ".join(words)


def _number(text: str | None, option: str, problems: list[Problem]) -> Fraction | None:
    if text is None:
        return None
    try:
        if option in ("--rate", "--instead", "--price"):
            return Fraction(scaled(text, HUNDREDTHS), HUNDREDTHS)
        return fraction_of(text)
    except NotExact as error:
        problems.append(Problem(option, str(error)))
        return None


def _tried(pairs: Iterable[str], option: str, problems: list[Problem]) -> dict[str, Fraction]:
    """Values to try, by id; odds as a number or a percentage."""
    found: dict[str, Fraction] = {}
    for pair in pairs:
        what, _, value = (piece.strip() for piece in pair.rpartition("="))
        such = "plate-20=120" if option == "--price" else "tansy-ring-worn=0.3"
        if not what or not value:
            problems.append(Problem(option, f"expected ID=VALUE, such as {such}; found {pair!r}"))
            continue
        number = _number(value.removesuffix("%") if option == "--odds" else value, option, problems)
        if number is None:
            continue
        said = number / 100 if option == "--odds" and value.endswith("%") else number
        if found.setdefault(what, said) != said:
            problems.append(Problem(option, f"{what!r} is tried at two values; say one"))
    return found


def _context(pairs: Iterable[str], problems: list[Problem]) -> dict[str, str | tuple[str, ...]]:
    found: dict[str, str | tuple[str, ...]] = {}
    for pair in pairs:
        key, equals, value = (piece.strip() for piece in pair.partition("="))
        if not key or not equals or not value:
            problems.append(Problem("--set", f"expected KEY=VALUE, such as torque_nm=280; found {pair!r}"))
            continue
        said = tuple(value.split(",")) if "," in value else value
        if found.setdefault(key, said) != said:
            problems.append(Problem("--set", f"{key!r} is said to be two things; say one"))
    return found

"""Arguments that several commands share. Values are checked where the question is made, not here."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from graph.errors import InvalidInput, Problem

OBJECTIVES = "expected (default), total, cash or hours"


def pairs_of(
    texts: Iterable[str], such: str = "width=25 mm +/- 0.01 mm", *, option: str = "", may_be_empty: bool = False
) -> dict[str, str]:
    """NAME=VALUE each, as names with values. `option`: where they were given; `may_be_empty`: a value takes away.

    Raises InvalidInput with every one that is none, at the option or by itself.
    """
    found, problems = [], []
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals or not (may_be_empty or (name.strip() and value.strip())):
            told = f"found {text!r}" if option else f"such as {such}"
            problems.append(Problem(option or text, f"expected NAME=VALUE, {told}"))
        found.append((name.strip(), value.strip()))
    if problems:
        raise InvalidInput(problems)
    return said_once(found, option)


def said_once(pairs: Sequence[tuple[str, str]], option: str = "") -> dict[str, str]:
    """The pairs by name. Raises InvalidInput, at the option or the name, for a name that is given two values."""
    found = dict(pairs)
    twice = {name: value for name, value in pairs if found[name] != value}
    if twice:
        told = ((name, f"is said to be {value!r} and {found[name]!r}; say it once") for name, value in twice.items())
        raise InvalidInput([Problem(option or name, f"{name!r} {words}" if option else words) for name, words in told])
    return found


def add_objective(parser: ArgumentParser) -> None:
    """What to make smallest, and how many next-best routes to show."""
    parser.add_argument("--objective", default="expected", metavar="NAME", help=f"what to make smallest: {OBJECTIVES}")
    parser.add_argument("--alternatives", type=int, default=2, metavar="N", help="next-best routes to show (2)")


def add_question(parser: ArgumentParser, *, in_words: bool = False) -> None:
    """Gearbox, engine and all that bears on the question. `in_words`: the units may stand in `--words` instead."""
    count: dict[str, Any] = {"nargs": "?", "default": ""} if in_words else {}
    parser.add_argument("gearbox", metavar="GEARBOX", help="id of the gearbox", **count)
    parser.add_argument("engine", metavar="ENGINE", help="id of the engine", **count)
    parser.add_argument("--vehicle", default="", metavar="ID", help="id of the vehicle that takes both")
    parser.add_argument("--own", action="append", default=[], metavar="PART", help="a part in hand; repeat for more")
    parser.add_argument("--part-exchange", action="store_true", help="the old unit is handed in for one that is bought")
    parser.add_argument(
        "--avoid",
        action="append",
        default=[],
        metavar="ID",
        help="a part, family or kind to do without; repeat for more",
    )
    parser.add_argument(
        "--feature", action="append", default=[], metavar="ID", help="what the result must offer; repeat for more"
    )
    parser.add_argument(
        "--demand", action="append", default=[], metavar="WORDS",
        help='what sums over its parts must come to: "first gear at least 3.3", "120 km/h in fifth gear below 3000 '
        'a minute", "output turns the same way"; repeat for more',
    )  # fmt: skip
    parser.add_argument(
        "--set",
        action="append",
        default=[],
        metavar="KEY=VALUE",
        dest="context",
        help="what is known of the job: torque_nm=280, duty=road, year=1994; KEY=A,B for several; repeat for more",
    )
    add_objective(parser)
    parser.add_argument("--rate", metavar="MONEY", help="money per bench hour; the facts' rate if left out")
    parser.add_argument("--odds", action="append", default=[], metavar="FAULT=ODDS",
                        help="try these odds of a fault or doubt (0.3, 30%%), once; repeat for more")  # fmt: skip
    parser.add_argument("--price", action="append", default=[], metavar="PART=MONEY",
                        help="try this price of a part, this once; repeat for more")  # fmt: skip
    parser.add_argument("--deadline", metavar="DAYS", help="longest time in days")
    parser.add_argument("--evidence-floor", default="", metavar="LEVEL", help="weakest evidence to rest on")
    parser.add_argument("--assembly", default="", metavar="ID", help="kind of finished job, if units do not settle it")
    parser.add_argument("--instead", metavar="MONEY", help="what not doing the job costs")
    parser.add_argument("--most-assumed", metavar="N", help="at most so many things may be assumed (0: nothing)")
    parser.add_argument("--seconds", metavar="S", help="the most that the search may take (LAYSHAFT_QUESTION_SECONDS)")
    parser.add_argument("--memory-mb", metavar="MB", help="the most memory for it (LAYSHAFT_QUESTION_MEMORY_MB)")
    parser.add_argument("--refuse-disputed", action="store_true", help="leave out what notes contradict")
    parser.add_argument("--without-machining", action="store_true", help="nothing is machined for it")
    parser.add_argument("--from-shelf", action="store_true", help="only parts on the shelf or in hand")


def add_command(commands: Any, module: str, name: str, words: str) -> ArgumentParser:
    """A command that `module` acts on, told by `act` which it is, and that prints JSON if asked."""
    parser: ArgumentParser = commands.add_parser(name, help=words, description=words)
    parser.set_defaults(module=module, act=name)
    parser.add_argument("--json", action="store_true", help="print JSON")
    return parser


def add_facts(parser: ArgumentParser) -> None:
    """Which shop is asked."""
    parser.add_argument(
        "--data", type=Path, metavar="DIR",
        help="the workshop's data folder, with notes and prices (else LAYSHAFT_DATA, else that of scripts/start)",
    )  # fmt: skip
    parser.add_argument(
        "--facts", action="append", default=[], metavar="DIR",
        help="these fact files alone, without notes or prices (LAYSHAFT_FACTS otherwise); repeat for more",
    )  # fmt: skip

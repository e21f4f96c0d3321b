"""The commands of cost and their arguments: what a route costs, what to renew with it, papers, prices, shop and jobs.

`add_commands` puts them on the command line; `graph.cli.costing_actions` does the work, imported when it is asked for.
"""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from graph.cli import options
from graph.papers.lengths import BOTH, UNITS
from graph.papers.model import KINDS

ACTIONS = "costing_actions"
ENTRIES = ("hours", "finding", "measurement", "as-built", "remark", "halt", "close", "follow-up", "reopen", "take-back")


def add_commands(commands: Any) -> None:
    """Adds the commands to the subparsers of the command line."""
    _add_cost(commands)
    _add_prices(commands)
    _add_shop(commands)
    _add_job(commands)
    _command(commands, "odds", "odds of worn parts, with what the shop found")
    back = _command(commands, "take-back", "take back a batch: a price list, a closing, a count")
    back.add_argument("batch", metavar="BATCH")
    back.add_argument("--reason", default="", metavar="WORDS")


def _command(commands: Any, name: str, words: str) -> ArgumentParser:
    """The subparser; its command is the module that acts, `act` what it shall do."""
    parser: ArgumentParser = commands.add_parser(name, help=words, description=words)
    parser.set_defaults(command=ACTIONS, act=name)
    options.add_facts(parser)
    parser.add_argument("--author", default="", metavar="WHO", help="who says so: a role or initials")
    parser.add_argument("--json", action="store_true", help="print JSON")
    return parser


def _add_cost(commands: Any) -> None:
    for name, words in (
        ("cost", "what a route will really cost"),
        ("while-it-is-out", "what else to renew while a route has it open, and what that costs"),
        ("paper", "estimate, job sheet, build record or declaration of changes, as PDF or HTML"),
    ):
        parser = _command(commands, name, words)
        if name == "paper":
            parser.add_argument("kind", choices=KINDS)
            _add_details(parser)
        options.add_question(parser)
        _add_route(parser)
        if name != "cost":
            _add_wish(parser)
        if name == "while-it-is-out":
            continue
        parser.add_argument("--limit", metavar="MONEY", help="the customer's limit")
        if name == "cost":
            parser.add_argument("--svg", metavar="FILE", help="draw the spread into this file")


def _add_route(parser: ArgumentParser) -> None:
    parser.add_argument("--rank", type=int, default=1, metavar="N", help="which route (1: the best)")
    parser.add_argument("--sign", action="append", default=[], metavar="SIGN=STATE", help="known before opening")


def _add_wish(parser: ArgumentParser) -> None:
    said = "renewed as well while it is open, as `while-it-is-out` lists it; repeat for more"
    parser.add_argument("--renew", action="append", default=[], metavar="ID", help=said)
    parser.add_argument("--warranty", metavar="MONTHS", help="the warranty that the shop gives")


def _add_details(parser: ArgumentParser) -> None:
    parser.add_argument("--number", required=True, help="the shop's number of the job")
    parser.add_argument("--out", required=True, metavar="FILE", help="ends in .pdf or .html")
    parser.add_argument("--units", default=BOTH, choices=UNITS)
    parser.add_argument("--job", default="", metavar="NUMBER", help="print this job's record in")
    for name in ("shop", "customer", "vehicle-name", "wish", "identified-by", "valid-until", "address"):
        parser.add_argument(f"--{name}", default="")


def _add_prices(commands: Any) -> None:
    parser = _command(commands, "prices", "price lists in and out")
    parser.add_argument("what", choices=("preview", "import", "export", "list"))
    parser.add_argument("file", metavar="FILE", nargs="?", default="")
    parser.add_argument("--column", action="append", default=[], metavar="FIELD=COLUMN", help="how to read; repeat")
    parser.add_argument("--default", action="append", default=[], metavar="FIELD=TEXT", help="for missing columns")
    parser.add_argument("--date-order", default="", metavar="ORDER", help="day first or month first")
    parser.add_argument("--decimal-mark", default="", choices=("", ".", ","))
    parser.add_argument(
        "--leave-out-unknown", action="store_true", help="leave out rows of parts that the workshop does not know"
    )


def _add_shop(commands: Any) -> None:
    parser = _command(commands, "shop", "shelf, rates and work sent out")
    parser.add_argument("what", choices=("list", "stock", "rate", "sublet", "tax"))
    parser.add_argument(
        "about", metavar="ID", nargs="?", default="", help="part, kind of work, sublet work, or percent of tax"
    )
    parser.add_argument(
        "--set", action="append", default=[], metavar="KEY=VALUE", dest="values",
        help="quantity, book, condition, place; per_hour; label, cash, lead_days, wanted; currency",
    )  # fmt: skip


def _add_job(commands: Any) -> None:
    plan = _command(commands, "plan-job", "a job from a route")
    plan.add_argument("--number", default="", help="the shop's own; left out: the next running one, such as 2026-0007")
    plan.add_argument("--title", required=True)
    options.add_question(plan)
    _add_route(plan)
    _add_wish(plan)
    parser = _command(commands, "job", "note on a job, show it, close it, look back, reopen it and put an entry right")
    parser.add_argument("what", choices=("list", "last", "show", *ENTRIES))
    parser.add_argument("job", metavar="NUMBER", nargs="?", default="")
    parser.add_argument(
        "--set", action="append", default=[], metavar="KEY=VALUE", dest="values",
        help="step, hours; fault, laid_open, worn, signs (sign:state, ...); entry, reason; "
        "what, reading, datum, tool, by; position, part, condition; words; "
        "stop (none: it goes on); outcome; months, good",
    )  # fmt: skip
    for name, words in (
        ("words", "list: only jobs with all these words"),
        ("gearbox", "list, last: jobs of this one or of its family"),
        ("engine", "list, last: jobs of this one or of its family"),
    ):
        parser.add_argument(f"--{name}", default="", help=words)

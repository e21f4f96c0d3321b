"""The command `used-box`: what to look at before a used gearbox is paid for, and what it is worth."""

from __future__ import annotations

import json
from argparse import Namespace
from typing import Any

from graph.cli import options

MODULE = "used_box_commands"


def add_to(commands: Any) -> None:
    """Adds the command to the subparsers of the command line."""
    words = "what to look at before a used gearbox is paid for, and what it is worth"
    made = commands.add_parser("used-box", help=words, description=words)
    made.set_defaults(module=MODULE)
    made.add_argument("gearbox", metavar="GEARBOX", help="id of the gearbox or of its family")
    made.add_argument("--found", action="append", default=[], metavar="CHECK=yes|no", help="the answer to a check")
    made.add_argument("--asking", metavar="MONEY", help="what the seller asks")
    made.add_argument("--json", action="store_true", help="print JSON")
    options.add_facts(made)


def run(arguments: Namespace) -> int:
    """Prints the verdict; exit status 0 whatever it is."""
    from graph.answer.serial import part_as_json
    from graph.cli.shop import shop_of
    from graph.errors import InvalidInput, Problem
    from graph.exact import HUNDREDTHS, NotExact, scaled
    from graph.used_box import UsedBox

    found = options.pairs_of(arguments.found, "shaft-rocks=yes")
    try:
        asking = None if arguments.asking is None else scaled(arguments.asking, HUNDREDTHS)
    except NotExact as fault:
        raise InvalidInput([Problem("--asking", str(fault))]) from None
    with shop_of(arguments) as shop:
        verdict = shop.weigh_used_box(UsedBox(arguments.gearbox, found, asking))
    print(json.dumps(part_as_json(verdict), ensure_ascii=False) if arguments.json else _told(verdict))
    return 0


def _told(verdict: Any) -> str:
    from graph.answer.words import likelihood, money

    least = "at least " if verdict.at_least else ""
    lines = [f"{verdict.label}: {verdict.summary}", verdict.worth_words,
             f"Nine times in ten no more than {least}{money(verdict.repairs_p90, verdict.currency)}.", ""]  # fmt: skip
    if verdict.tell_apart:
        lines.append("Which one is it?")
        lines += [f"  {one.label} ({one.how}): {'; '.join(one.outcomes)}" for one in verdict.tell_apart]
    lines.append("Look next, what tells most for its time first:")
    for number, check in enumerate(verdict.checks, start=1):
        lines.append(f"  {number}. {check.asks} ({check.how}; {check.minutes:g} min) [{check.id}]")
        if check.if_yes:
            lines.append(f"      yes: {check.if_yes}; no: {check.if_no}")
    lines += [f"Answered: {check.asks} {check.answer}" for check in verdict.answered]
    lines.append("What may be worn:")
    for line in verdict.worn:
        lacking = f" (not stated: {', '.join(line.lacks)})" if line.lacks else ""
        repair = money(line.repair, verdict.currency)
        lines.append(f"  {likelihood(line.odds)}  {line.label}: {repair} by itself on the bench{lacking}")
    lines.append("Bring home to measure:")
    lines += [f"  {one.what} (from {one.datum}, {one.tool})" for one in verdict.bring_home]
    return "\n".join([*lines, "", *verdict.notes, *(f"Caution: {one}" for one in verdict.cautions)])

"""The command `complaint`: from a complaint to the joint."""

from __future__ import annotations

import json
from argparse import Namespace
from typing import Any

from graph.cli import options

MODULE = "complaint_commands"


def add_to(commands: Any) -> None:
    """Adds the command to the subparsers of the command line."""
    words = "what is wrong, and what to look at next; without a complaint, the list of them"
    made = commands.add_parser("complaint", help=words, description=words)
    made.set_defaults(module=MODULE)
    made.add_argument("complaints", metavar="COMPLAINT", nargs="*", help="such as clutch-slips")
    made.add_argument("--found", action="append", default=[], metavar="TEST=yes|no", help="the answer to a test")
    made.add_argument("--measured", action="append", default=[], metavar="DIMENSION=LENGTH",
                      help='as built, such as release-gap="0.5 mm"')  # fmt: skip
    made.add_argument("--open", action="append", default=[], metavar="TASK", help="a task that is open already")
    made.add_argument("--gearbox", default="", metavar="ID", help="so that the shop's odds and prices count")
    made.add_argument("--engine", default="", metavar="ID")
    made.add_argument("--job", default="", metavar="JOB", help="the job that built it: its units and readings count")
    made.add_argument("--json", action="store_true", help="print JSON")
    options.add_facts(made)


def run(arguments: Namespace) -> int:
    """Prints the verdict; exit status 0 whatever it is."""
    from graph.cli.shop import shop_of
    from graph.complaints.as_json import trade_as_json, verdict_as_json
    from graph.complaints.enquiry import Enquiry
    from graph.complaints.tables import trade_tables

    enquiry = Enquiry(
        tuple(arguments.complaints), options.pairs_of(arguments.found, "only-hot=no"), tuple(arguments.open),
        arguments.gearbox, arguments.engine, options.pairs_of(arguments.measured, "release-gap=0.5 mm"),
    )  # fmt: skip
    with shop_of(arguments) as shop:
        if not arguments.complaints:
            known = trade_as_json(trade_tables(), shop.index.catalogue)
            print(json.dumps(known, ensure_ascii=False) if arguments.json else _listed(known))
            return 0
        verdict = shop.judge(enquiry, arguments.job)
    print(json.dumps(verdict_as_json(verdict), ensure_ascii=False) if arguments.json else _told(verdict))
    return 0


def _listed(known: dict[str, Any]) -> str:
    return "\n".join(f"{one['id']}  {one['label']}" for one in known["complaints"])


def _told(verdict: Any) -> str:
    from graph.answer.words import likelihood

    lines = [verdict.summary, ""]
    lines += [one.words for one in verdict.doubted]
    lines.append("What it may be:")
    for one in verdict.suspects:
        where = "; ".join(filter(None, (one.joint, one.position)))
        lines.append(f"  {likelihood(one.odds)}  {one.label}{f' ({where})' if where else ''}")
        lines += [f"      for it: {said}" for said in one.speaks_for]
        lines += [f"      against it: {said}" for said in one.speaks_against]
        lines.append(f"      to do: {one.remedy}; cost: {one.price}")
    lines.append(f"  {likelihood(verdict.something_else)}  something that is not on this list")
    if verdict.tests:
        lines += ["", "Look next, what tells most for its time first:"]
    for number, test in enumerate(verdict.tests, start=1):
        opening = f", {test.opening_hours_hundredths / 100:g} h to open: {', '.join(test.opens)}" if test.opens else ""
        lines.append(f"  {number}. {test.asks} ({test.how}; {test.minutes:g} min{opening}) [{test.test}]")
        lines.append(f"      settles {likelihood(test.settles)} of the doubt; yes: {test.if_yes}; no: {test.if_no}")
    lines += ["", *verdict.notes, *(f"Caution: {one}" for one in verdict.cautions)]
    return "\n".join(lines)

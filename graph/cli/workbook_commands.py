"""The command `workbook`: the whole workshop as one spreadsheet, out and in, as one batch that can be taken back."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import Any

from graph.cli.ledger_commands import DATA
from graph.cli.out_files import write_file

ACTIONS = ("template", "export", "preview", "import", "batches", "back")


def add_to(commands: Any) -> None:
    """Adds the command to an argparse sub-parser object."""
    made = commands.add_parser("workbook", help="the workshop as a spreadsheet (XLSX): template, export, import, back")
    made.add_argument("action", choices=ACTIONS)
    made.add_argument("subject", metavar="FILE_OR_BATCH", nargs="?", default="", help="the file; for back: the batch")
    made.add_argument("--all", action="store_true", help="export: what the files of facts say as well")
    made.add_argument("--author", default="", help="import, back: who says so, a role or initials")
    made.add_argument("--evidence", default="", help="import: how it is known where a row does not say, a level's id")
    made.add_argument("--data", type=Path, default=DATA, metavar="DIR", help="where this workshop's data lives")
    made.add_argument("--database", default=os.environ.get("LAYSHAFT_DATABASE", ""), metavar="URL",
                      help="the ledger's database (else DIR/ledger.db)")  # fmt: skip
    made.set_defaults(module="workbook_commands")


def run(arguments: argparse.Namespace) -> int:
    """Runs one of ACTIONS. Raises InvalidInput with every fault of a workbook by sheet, row and column."""
    from graph.cli.question import facts_of
    from graph.cli.workshop import home_of
    from graph.errors import InvalidInput, Problem
    from graph.ledger.notebook import open_notebook

    action = arguments.action
    if action != "batches" and not arguments.subject:
        raise InvalidInput([Problem("FILE_OR_BATCH", "name the batch" if action == "back" else "name the file")])
    if action in ("import", "back") and not arguments.author:
        raise InvalidInput([Problem("--author", "say who says so: initials or a role will do")])
    home = arguments.data if arguments.database else home_of(arguments.data)
    notebook = open_notebook(home, arguments.database, facts=[facts_of(home)])
    try:
        _run(notebook, arguments)
    finally:
        notebook.close()
    return 0


def _run(notebook: Any, arguments: argparse.Namespace) -> None:
    from graph.ledger.record import Draft
    from graph.workbook.batches import Batch, Sent, list_batches, preview, take_back, take_in

    def told(batch: Batch) -> str:
        return f"{batch.id}  {batch.recorded_at[:16]}  {batch.lines:,} notes  {batch.name}"

    words = Draft(author=arguments.author, evidence=arguments.evidence)
    if arguments.action in ("template", "export"):
        _write(notebook, Path(arguments.subject), arguments.action == "template", arguments.all)
    elif arguments.action == "batches":
        for batch in list_batches(notebook):
            print(told(batch) + ("  taken back" if batch.taken_back else ""))
    elif arguments.action == "back":
        print(f"taken back: {told(take_back(notebook, arguments.subject, words))}")
    else:
        path = Path(arguments.subject)
        with path.open("rb") as file:
            sent = Sent(file, path.name, words)
            if arguments.action == "preview":
                _tell(preview(notebook, sent))
            else:
                taken, shown = take_in(notebook, sent)
                _tell(shown)
                print(f"taken in: {told(taken)}" if taken else "nothing changes: nothing was written")


def _write(notebook: Any, path: Path, template: bool, whole: bool) -> None:
    from graph.workbook.export import template_file, workshop_file

    if template:
        write_file(path, template_file(notebook))
        print(f"written to {path}")
        return
    made = workshop_file(notebook, whole=whole)
    write_file(path, made.data)
    print(f"{made.rows:,} rows written to {path}")
    for line in made.left_out:
        print(f"not in it: {line}", file=sys.stderr)


def _tell(shown: Any) -> None:
    from graph.errors import InvalidInput

    for sheet, counts in shown.counts.items():
        print(f"{sheet}: " + ", ".join(f"{count:,} {fate}" for fate, count in sorted(counts.items())))
    for line in shown.told:
        print(line)
    if shown.problems:
        raise InvalidInput(shown.problems)

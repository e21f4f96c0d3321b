"""The commands that look after the notes: verify, checkpoint, rebuild, backup, restore, export, import and so on."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from graph.cli.out_files import write_file, written_whole
from graph.cli.program import command
from graph.errors import LayshaftError, StoreProblem

if TYPE_CHECKING:
    from graph.ledger.verify import Report

DATA = Path(os.environ.get("LAYSHAFT_DATA") or "data")
EXIT_FAULTS = 1
CHECKPOINT_FILE = "LAYSHAFT_CHECKPOINT_FILE"


def add_to(commands: Any) -> None:
    """Adds the commands to an argparse sub-parser object; each names this module as its `module`."""
    _add_care(commands)
    _add_travel(commands)
    token = _command(commands, "token", "access tokens for other machines: add, list, revoke")
    token.add_argument("action", choices=("add", "list", "revoke"))
    token.add_argument("subject", metavar="NAME_OR_ID", nargs="?", default="", help="a name to add, an id to revoke")
    token.add_argument("--role", default="read", help="read, note or manage (each holds the ones before)")


def _add_care(commands: Any) -> None:
    check = _command(commands, "verify", "does the ledger still say what was written?")
    check.add_argument("--since", default="", metavar="CHECKPOINT",
                       help="a checkpoint kept outside: a file, the text of its QR code, or POSITION:HASH")  # fmt: skip
    point = _command(commands, "checkpoint", "where the ledger stands, to be kept outside of it; appended to a file")
    point.add_argument("file", metavar="FILE", type=Path, nargs="?", default=os.environ.get(CHECKPOINT_FILE) or None,
                       help=f"a text file, or a paper with a QR code: .pdf .html (else {CHECKPOINT_FILE})")  # fmt: skip
    again = "make the graph again from the ledger, the packed facts from their files (no other process may use them)"
    _command(commands, "rebuild", again)
    save = _command(commands, "backup", "write the whole ledger to a new file, verified; others may go on writing")
    save.add_argument("file", metavar="FILE", type=Path)
    back = _command(commands, "restore", "fill an empty ledger from a backup, verified")
    back.add_argument("file", metavar="FILE", type=Path)


def _add_travel(commands: Any) -> None:
    out = _command(commands, "export", "write notes as RDF; by the ending: .trig .nq .jsonld")
    out.add_argument("file", metavar="FILE", type=Path)
    out.add_argument("--all", action="store_true", help="the private notes as well")
    take = _command(commands, "merge", "take in the notes that another shop exported")
    take.add_argument("file", metavar="FILE", type=Path)
    take.add_argument("--dry-run", action="store_true", help="say what would happen, write nothing")
    put = _command(commands, "publish", "replace a graph on an outside SPARQL server by the shareable notes")
    put.add_argument("endpoint", metavar="URL", help="the server's graph store address")
    put.add_argument("--graph", default="", help="name of the graph there")
    _add_import(commands)


def _add_import(commands: Any) -> None:
    load = _command(commands, "import", "facts or tables into notes: .ttl .nt .jsonld .rdf .trig .nq .csv .xlsx")
    load.add_argument("file", metavar="FILE", type=Path)
    load.add_argument("--author", required=True, help="who says so: a role or initials")
    load.add_argument("--evidence", required=True, help="an evidence level's id")
    load.add_argument("--text", default="", help="what the notes say in words (the file's name if left out)")
    load.add_argument("--shareable", action="store_true", help="the notes may leave the shop")
    load.add_argument("--class", dest="of_class", default="Part", help="a table's rows are: Part, Fits, ...")
    load.add_argument("--column", action="append", default=[], metavar="HEADER=PROPERTY", help="what a column holds")
    load.add_argument("--preview", action="store_true", help="a table: show what its columns would mean, and stop")
    load.add_argument("--dry-run", action="store_true", help="check everything, write nothing")


def _command(commands: Any, name: str, text: str) -> argparse.ArgumentParser:
    made: argparse.ArgumentParser = commands.add_parser(name, help=text)
    made.add_argument("--data", type=Path, default=DATA, metavar="DIR", help="where this workshop's data lives")
    made.add_argument("--database", default=os.environ.get("LAYSHAFT_DATABASE", ""), metavar="URL",
                      help="the ledger's database (else DIR/ledger.db)")  # fmt: skip
    made.set_defaults(module="ledger_commands")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Runs one of COMMANDS; exit status 1 where `verify` found faults."""
    from graph.cli.workshop import home_of

    if not arguments.database:
        arguments.data = home_of(arguments.data)
    return _RUN[arguments.command](arguments)


def _ledger(arguments: argparse.Namespace) -> Any:
    from graph.ledger.book import Ledger
    from graph.ledger.database import open_database

    return Ledger(open_database(_url(arguments)))


def _url(arguments: argparse.Namespace) -> str:
    from graph.ledger.database import sqlite_url

    return arguments.database or sqlite_url(arguments.data / "ledger.db")


@contextmanager
def _notebook(arguments: argparse.Namespace) -> Iterator[Any]:
    from graph.cli.question import facts_of
    from graph.ledger.notebook import open_notebook

    notebook = open_notebook(arguments.data, arguments.database, facts=[facts_of(arguments.data)])
    try:
        yield notebook
    finally:
        notebook.close()


def _verify(arguments: argparse.Namespace) -> int:
    from graph.ledger.verify import read_checkpoints, verify_database

    since = read_checkpoints(arguments.since) if arguments.since else []
    report = verify_database(_url(arguments), since, tell=_tell)
    for fault in report.faults:
        print(fault, file=sys.stderr)
    what = f"{report.lines:,} lines, {report.attachments:,} attachments"
    print(f"{what}: {'sound' if report.sound else 'NOT SOUND'}")
    if since:
        print(_continues(report, len(since)))
    sound = _packed_facts_are_sound(arguments.data) and report.sound  # before anything opens, and so remakes, them
    if sound:
        _tell_left_out(arguments)
    print(f"checkpoint {report.checkpoint}")
    return 0 if sound else EXIT_FAULTS


def _packed_facts_are_sound(data: Path) -> bool:
    """Whether every block of the data folder's facts file is what was written; also where there is none."""
    from graph.catalogue.compact.store import CompactFile
    from graph.counter.opened import KEPT

    if not (data / KEPT).exists():
        return True
    try:
        CompactFile(data / KEPT)
    except StoreProblem as error:
        print(error, file=sys.stderr)
        print("packed facts: NOT SOUND")
        return False
    print("packed facts: sound")
    return True


def _tell_left_out(arguments: argparse.Namespace) -> None:
    """Sound lines may still contradict each other, or the facts as they are now."""
    from graph.cli.question import facts_of
    from graph.counter.opened import find_left_out

    try:
        out = find_left_out(arguments.data, facts_of(arguments.data), _url(arguments))
    except (LayshaftError, OSError) as error:
        print(f"whether the notes hold together with the facts could not be looked at: {error}", file=sys.stderr)
        return
    for one in out:
        print(one, file=sys.stderr)
    print(f"{len(out):,} notes contradict facts or other notes and are left out" if out else "no note is left out")


def _tell(what: str, done: int, of: int) -> None:
    print(f"{what}: {done:,} of {of:,}", file=sys.stderr)


def _continues(report: Report, count: int) -> str:
    """Whether the ledger goes on from what was kept outside; only a sound one is said to."""
    kept = "1 checkpoint" if count == 1 else f"{count:,} checkpoints"
    if report.sound:
        return f"continues {kept}"
    strays = [fault for fault in report.faults if fault.path.startswith("checkpoint ")]
    if strays:
        return f"DOES NOT CONTINUE {len(strays):,} of {kept}"
    return f"whether it continues {kept} cannot be told while the faults above stand"


def _checkpoint(arguments: argparse.Namespace) -> int:
    from graph.ledger.checkpoint import keep_checkpoint, take_checkpoint
    from graph.papers.checkpoint import checkpoint_paper
    from graph.papers.html import as_html
    from graph.papers.pdf import as_pdf

    taken = take_checkpoint(_ledger(arguments))
    file: Path | None = arguments.file and Path(arguments.file)
    if file is not None and file.suffix == ".pdf":
        write_file(file, as_pdf(checkpoint_paper(taken)))
    elif file is not None and file.suffix == ".html":
        write_file(file, as_html(checkpoint_paper(taken)))
    elif file is not None:
        keep_checkpoint(taken, file)
    print(taken.text)
    return 0


def _rebuild(arguments: argparse.Namespace) -> int:
    from graph.cli.question import facts_of
    from graph.counter.opened import KEPT
    from graph.lookups.compact import is_large, open_index

    with _notebook(arguments) as notebook:
        standing = notebook.view.rebuild()
        facts, packed = facts_of(arguments.data), arguments.data / KEPT
        packed.unlink(missing_ok=True)
        if is_large([facts]):
            open_index([facts], packed, shop_base=notebook.ledger.base, report=_tell)
            print(f"the facts were packed anew into {packed}")
    print(f"the graph stands at line {standing.position} with {standing.quads:,} statements")
    return 0


def _backup(arguments: argparse.Namespace) -> int:
    from graph.ledger.care import backup

    report = backup(_ledger(arguments), arguments.file, _tell)
    print(f"{report.lines:,} lines in {arguments.file}, verified; checkpoint {report.checkpoint}")
    return 0


def _restore(arguments: argparse.Namespace) -> int:
    from graph.ledger.care import restore

    report = restore(arguments.file, _url(arguments), _tell)
    print(f"{report.lines:,} lines restored and verified; the graph is made again when it is next opened")
    return 0


def _export(arguments: argparse.Namespace) -> int:
    import pyoxigraph as ox

    from graph.ledger.exchange import export_quads
    from graph.ledger.rdf_files import format_of

    form = format_of(str(arguments.file), of_datasets=True)
    with written_whole(arguments.file) as file:
        ox.serialize(export_quads(_ledger(arguments), shareable_only=not arguments.all), file, form)
    print(f"written to {arguments.file}{'' if arguments.all else ' (shareable notes only)'}")
    return 0


def _merge(arguments: argparse.Namespace) -> int:
    from graph.ledger.exchange import merge_source

    with _notebook(arguments) as notebook, arguments.file.open("rb") as file:
        done = merge_source(notebook.ledger, str(arguments.file), file, dry_run=arguments.dry_run)
    would = "would be " if arguments.dry_run else ""
    print(f"{would}new {done.new:,}, {would}newer {done.newer:,}, known already {done.known:,}")
    return 0


def _publish(arguments: argparse.Namespace) -> int:
    from graph.ledger.publish import publish

    print(f"{publish(_ledger(arguments), arguments.endpoint, arguments.graph):,} statements published")
    return 0


def _import(arguments: argparse.Namespace) -> int:
    from graph.ledger.imports import ImportedAs, import_file, preview_file
    from graph.ledger.record import Draft

    columns = dict(item.partition("=")[::2] for item in arguments.column)
    if arguments.preview:
        for line in preview_file(arguments.file, columns):
            print(line)
        return 0
    words = Draft(text=arguments.text or f"Imported from {arguments.file.name}.", author=arguments.author,
                  evidence=arguments.evidence, document=arguments.file.name, shareable=arguments.shareable)  # fmt: skip
    how = ImportedAs(words, of_class=arguments.of_class, columns=columns)
    with _notebook(arguments) as notebook:
        done = import_file(notebook.ledger, arguments.file, how, dry_run=arguments.dry_run,
                           tell=lambda text: print(text, file=sys.stderr))  # fmt: skip
    print(f"{'would write' if arguments.dry_run else 'wrote'} {done.notes:,} notes with {done.statements:,} statements")
    return 0


def _token(arguments: argparse.Namespace) -> int:
    from graph.ledger.tokens import Tokens

    tokens = Tokens(_ledger(arguments).engine)
    if arguments.action == "add":
        token, secret = tokens.add(arguments.subject, arguments.role)
        end = command("token", "revoke", token.id, data=arguments.data)
        print(f"{secret}\nThis is shown once. It may {token.role}; to end it: {end}")
    elif arguments.action == "revoke":
        tokens.revoke(arguments.subject)
        print("revoked")
    else:
        for token in tokens.list_tokens():
            ended = f"  revoked {token.revoked_at}" if token.revoked_at else ""
            print(f"{token.id}  {token.role:<6}  {token.name}{ended}")
    return 0


_RUN: dict[str, Callable[[argparse.Namespace], int]] = {
    "verify": _verify, "checkpoint": _checkpoint, "rebuild": _rebuild, "backup": _backup, "restore": _restore,
    "export": _export, "merge": _merge, "publish": _publish, "import": _import, "token": _token,
}  # fmt: skip

"""`python -m api`: loads the workshop's facts, answers one question in the terminal, serves the JSON API.

Left alone, the service listens on this machine only (loopback) and asks for no login. With --host others can reach it:
then every request needs an access token (`.venv/bin/python -m graph token add NAME --role manage --data DIR`), or it
refuses to start, and says the command.
Its port is 8000, or a free one if that is taken.
"""

from __future__ import annotations

import gc

if __name__ == "__main__":
    gc.disable()  # what a start loads stays: looking for garbage among it took a third of it; `_serve` ends that

import argparse
import errno
import os
import signal
import socket
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from fastapi import FastAPI

from api.collector import collect_seldom
from api.connections import serve
from api.crew import end_with, serve_by_crew
from api.metrics import log_as_json, shared_counters
from api.security import LOOPBACK, is_loopback
from api.service import opened_service
from api.settings import Settings
from graph.answer.text import print_answer
from graph.catalogue.statements import SUFFIXES, list_fact_files
from graph.cli.console import console
from graph.cli.question import DEMO_FACTS, DEMO_QUESTION, command_of, facts_of
from graph.cli.shop import default_data
from graph.cli.workshop import home_of, yard_of
from graph.counter import Shop
from graph.errors import InvalidInput, LayshaftError, Problem

FIRST_PORT = 8000
SAY_SECONDS = 5
MOST_NAMED = 20
MOST_WORKERS = 64
SEARCHES = "LAYSHAFT_SEARCHES_AT_ONCE"


def main(argv: Sequence[str]) -> int:
    """Runs until interrupted. Exit status 2 with a message where the facts, the folder or the settings are wrong."""
    arguments = _arguments(argv)
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # told to end while it starts, it closes its ledger too
    try:
        if arguments.yard:
            arguments.data = yard_of(arguments.data)
        settings = Settings.from_environment(os.environ)
        demo = arguments.listening_on is None and _announce(home_of(arguments.data))
        database = os.environ.get("LAYSHAFT_DATABASE", "")
        if arguments.listening_on is not None:
            return _take_part(arguments, settings, database)
        with opened_service(arguments.data, settings, database, arguments.host, _Progress().say) as (app, shop):
            _show(shop, demo=demo)
            if arguments.no_serve:
                return 0
            listener = _announced(arguments.host, arguments.port)
            if arguments.workers == 1:
                _serve(app, listener, settings)
                return 0
        return _serve_by_crew(arguments, listener, settings)
    except KeyboardInterrupt:
        return 0
    except InvalidInput as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
    except (LayshaftError, ValueError, OSError) as error:
        print(error, file=sys.stderr)
    return 2


def _arguments(argv: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="scripts/start", description=__doc__)
    parser.add_argument(
        "--data", type=Path, default=default_data(), metavar="DIR", help="where this workshop's data lives"
    )
    parser.add_argument("--port", type=int, default=FIRST_PORT, metavar="N", help="the port to try first (8000)")
    parser.add_argument("--host", default=LOOPBACK, metavar="ADDR",
                        help="the address to listen on (127.0.0.1); elsewhere access tokens are required")  # fmt: skip
    parser.add_argument("--workers", type=_count, default=os.environ.get("LAYSHAFT_WORKERS", "1"), metavar="N",
                        help="service processes on the one address (1)")  # fmt: skip
    parser.add_argument("--listening-on", type=int, help=argparse.SUPPRESS)  # of a process of a crew: its socket
    parser.add_argument("--no-serve", action="store_true", help="stop after the answer")
    parser.add_argument("--yard", action="store_true",
                        help="the demo and five other sorts of job, in the data folder's `yard`")  # fmt: skip
    return parser.parse_args(argv)


def _announce(data: Path) -> bool:
    """Says where the data lives and which facts are used; true if they are the demo's."""
    print(f"Data folder: {data.resolve()} (another one: --data DIR or LAYSHAFT_DATA)")
    if os.environ.get("LAYSHAFT_FACTS"):
        print("LAYSHAFT_FACTS is for commands alone; the service reads the folder `facts` in its data folder")
    facts = facts_of(data)
    if facts != DEMO_FACTS and not list_fact_files([facts]):
        print(f"Facts: none yet: {facts} holds no facts file ({', '.join(SUFFIXES)})")
        return False
    if facts != DEMO_FACTS:
        print(f"Facts: this workshop's own, from {facts.resolve()}")
        return False
    print("Facts: the demo workshop, all of it invented (put your own Turtle files into the folder `facts` in there)")
    return True


class _Progress:
    """Says at most every few seconds how far the reading of many facts is."""

    def __init__(self) -> None:
        self._said = time.monotonic()

    def say(self, what: str, done: int, of: int) -> None:
        """What is being done, how far, of how many."""
        if time.monotonic() - self._said >= SAY_SECONDS or done == of:
            self._said = time.monotonic()
            print(f"Facts, {what}: {done} of {of} files", flush=True)


def _show(shop: Shop, *, demo: bool) -> None:
    """Prints the answer to one question of the demo; of an own workshop only what there is to ask about.

    Once a ledger has entries, the command alone: a start then takes as long however many there are.
    """
    index = shop.index
    known = index.catalogue
    print(f"Loaded {len(known.parts)} parts and {len(known.edges)} edges.\n")
    for one in shop.left_out:
        print(f"Note {one.note} is left out, for it does not hold together with the rest: {one.reason}\n")
    if not demo:
        for what, words in (("gearbox", "Gearboxes"), ("engine", "Engines")):
            units = index.units(what)
            more = f" and {len(units) - MOST_NAMED:,} more" if len(units) > MOST_NAMED else ""
            named = ", ".join(units[:MOST_NAMED]) or "none yet"
            print(f"{words}: {named}{more}")
        return
    if shop.position:
        print(f"The ledger has {shop.position:,} entries. To ask here: {command_of(DEMO_QUESTION)}")
        return
    print(f"$ {command_of(DEMO_QUESTION)}\n", flush=True)
    answer = shop.ask(DEMO_QUESTION, with_changes=True)
    with console() as out:
        print_answer(answer, out)
    sys.stdout.flush()


def _listening(host: str, port: int) -> socket.socket:
    """A socket at the address and port, or at a free port if it is taken. Raises OSError for an address not ours."""
    family, *_, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)[0]
    for wanted in (port, 0):
        listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)  # else asyncio leaves Nagle on
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((address[0], wanted))
            listener.listen(128)
            return listener
        except OSError as error:
            listener.close()
            if wanted == 0 or error.errno not in (errno.EADDRINUSE, errno.EACCES):
                raise
            print(f"Port {wanted} is taken; a free one is used instead.")
    raise AssertionError("unreachable")


def _announced(host: str, port: int) -> socket.socket:
    """The socket to serve at, its address printed. Raises InvalidInput for one that is not to be had."""
    try:
        listener = _listening(host, port)
    except (OSError, OverflowError) as error:
        raise InvalidInput([Problem("--host", f"cannot listen on {host}: {error}")]) from error
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{listener.getsockname()[1]}"
    print(f"\nThe JSON API is described at {address}/docs. Ctrl-C ends it.")
    if not is_loopback(host):
        print(f"Others can reach it, with an access token only; a browser signs in at {address}/sign-in.")
    print(f"Open {address} in a browser.", flush=True)
    return listener


def _serve(app: FastAPI, listener: socket.socket, settings: Settings) -> None:
    log_as_json()
    app.state.searches.warm()
    collect_seldom()
    serve(app, settings, listener)


def _serve_by_crew(arguments: argparse.Namespace, listener: socket.socket, settings: Settings) -> int:
    """Each process searches with its share of the processes, unless somebody has said how many."""
    share = {} if SEARCHES in os.environ else {SEARCHES: str(max(1, settings.searches_at_once // arguments.workers))}
    passed_on = ["--data", str(arguments.data), "--host", arguments.host]
    counters = shared_counters(arguments.data / "work" / "counters")
    return serve_by_crew(listener, arguments.workers, passed_on, share | counters)


def _take_part(arguments: argparse.Namespace, settings: Settings, database: str) -> int:
    """One process of a crew: serves at the socket that it was handed."""
    end_with(os.getppid())
    with (
        socket.socket(fileno=arguments.listening_on) as listener,
        opened_service(arguments.data, settings, database, arguments.host) as (app, _),
    ):
        _serve(app, listener, settings)
    return 0


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST_WORKERS:
        raise argparse.ArgumentTypeError(f"expected 1 to {MOST_WORKERS}, found {text!r}")
    return int(text)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

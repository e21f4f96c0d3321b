"""What the commands of cost are told: by whom, and names with values."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence

from graph.cli import options
from graph.costing.notes import Provenance
from graph.errors import InvalidInput, Problem
from graph.wear import RenewalWish, read_wish


def said_by(arguments: Namespace, method: str = "") -> Provenance:
    return Provenance(arguments.author or "command line", method)


def pairs(texts: Sequence[str], option: str) -> dict[str, str]:
    split = [text.partition("=") for text in texts]
    bad = [before for before, equals, _ in split if not equals]
    if bad:
        raise InvalidInput([Problem(option, f"expected NAME=VALUE, found {each!r}") for each in bad])
    return options.said_once([(before.strip(), after.strip()) for before, _, after in split], option)


def wish_of(arguments: Namespace) -> RenewalWish:
    return read_wish(arguments.renew, arguments.warranty, "--warranty")


def wishes(arguments: Namespace) -> bool:
    return bool(arguments.renew) or arguments.warranty is not None

"""What the commands of cost are told: by whom, and names with values."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence

from graph.cli import options
from graph.costing.notes import Provenance
from graph.wear import RenewalWish, read_wish


def said_by(arguments: Namespace, method: str = "") -> Provenance:
    return Provenance(arguments.author or "command line", method)


def pairs(texts: Sequence[str], option: str) -> dict[str, str]:
    """Names with values, given at an option; an empty value takes away what was said."""
    return options.pairs_of(texts, option=option, may_be_empty=True)


def wish_of(arguments: Namespace) -> RenewalWish:
    return read_wish(arguments.renew, arguments.warranty, "--warranty")


def wishes(arguments: Namespace) -> bool:
    return bool(arguments.renew) or arguments.warranty is not None

"""A checkpoint of the ledger on paper: to be signed and put where nobody who can write the ledger can reach it."""

from __future__ import annotations

from graph.ledger.checkpoint import DatedCheckpoint
from graph.papers.model import Blank, Facts, Paper, QrCode, Section, Text


def checkpoint_paper(taken: DatedCheckpoint) -> Paper:
    """The paper: position, hash and time in words and as a QR code, and how to use it."""
    kept = taken.checkpoint
    what = (("Last line", f"{kept.position:,}"), ("Hash (SHA-256)", kept.hash), ("Taken (UTC)", taken.at))
    how = f'python -m graph verify --since "{kept}"'
    sections = (
        Section("Where the ledger stands", (Facts(what), QrCode(taken.text, "Text of the code"))),
        Section("What it is for", (
            Text("Nothing up to this line can be changed, removed or put in between without another hash. Keep this "
                 "paper apart from the machine and its backups. To check, read the code into:"), Text(how),
            Text("It answers that the ledger continues this checkpoint, or that it does not."))),
        Section("Taken by", (Blank("Name and date"), Blank("Kept where"))),
    )  # fmt: skip
    return Paper("Checkpoint", "Checkpoint of the ledger", str(kept.position), taken.at[:10], sections)

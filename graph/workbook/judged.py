"""Every fault of a workbook in one round: those of its cells, and those that the shop's rules find in what they say.

Faults speak the workbook's own language: names as cells have them, headers for properties, sheet, row and column.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from graph.catalogue.names import LAY
from graph.errors import InvalidFacts, Problem
from graph.ledger.notebook import Notebook
from graph.ledger.record import Draft
from graph.workbook.arrive import MOST_PROBLEMS, WantedRow
from graph.workbook.changes import Changes
from graph.workbook.known import Known
from graph.workbook.plan import sheets

_NOTE = re.compile(r"note ([0-9a-f-]{36})")
_PROPERTY = re.compile(r"\blay:([A-Za-z]+)")
_WORD = re.compile(r"<?(?:https?://[^\s<>'\",;]+|[A-Za-z0-9][A-Za-z0-9._~-]*-[A-Za-z0-9._~-]*[A-Za-z0-9])>?")
_PLACE = re.compile(
    r"sheet (?P<q>['\"])(?P<title>.*?)(?P=q)(?: row (?P<row>\d+))?(?: column (?P<column>[A-Z]+))?"
    r"(?: cells (?P<first>[A-Z]+)(?P<top>\d+))?"
)
_ROW = re.compile(r"sheet '.*?' row \d+")


def all_faults(notebook: Notebook, changes: Changes, known: Known) -> list[Problem]:
    """What is wrong, all at once, by sheet, row and column; what holds of a whole sheet comes before its rows.

    A fault that only follows from one told already, at the same place, is left out.
    """
    told = [Problem(one.path, in_words(one.message, known)) for one in changes.problems]
    if changes.stands:
        drafts = [(note, _whole(draft, notebook)) for note, draft in changes.stands]
        try:
            notebook.ledger.judge(drafts, list(changes.revised))
        except InvalidFacts as error:
            places = {one.path for one in told}
            rows = {match[0] for one in told if (match := _ROW.match(one.path))}
            told += [one for one in placed(error.problems, changes, known) if one.path not in places | rows]
    return sorted(dict.fromkeys(told), key=lambda one: _place_of(one, changes.titles))[:MOST_PROBLEMS]


def _place_of(problem: Problem, titles: Sequence[str]) -> tuple[int, int, int, str]:
    """Where a fault stands: its sheet's place in the workbook, row, column; 0 where it is of no one sheet or row."""
    match = _PLACE.match(problem.path)
    if match is None:
        return -1, 0, 0, ""
    title = match["title"]
    at = titles.index(title) if title in titles else len(titles)
    letters, row = match["column"] or match["first"] or "", int(match["row"] or match["top"] or 0)
    return at, row, 0 if not letters else sum(26**n * (ord(c) - 64) for n, c in enumerate(reversed(letters))), title


def _whole(draft: Draft, notebook: Notebook) -> Draft:
    """The draft with who says so and how it is known, so that the rest of it can be judged; that they lack is told."""
    level = draft.evidence or next(iter(sorted(notebook.ledger.levels)), "")
    return replace(draft, author=draft.author or "nobody yet", evidence=level)


def placed(problems: Iterable[Problem], changes: Changes, known: Known) -> list[Problem]:
    """Faults of notes by the sheet, row and column that the notes were made of."""
    found = []
    for problem in problems:
        match = _NOTE.search(problem.path)
        row = changes.places.get(match[1]) if match else None
        if row is None:
            found.append(Problem(problem.path, in_words(problem.message, known)))
            continue
        word = problem.path.rpartition(" ")[2].rpartition(":")[2]
        at = next((place for prop, place in row.columns.items() if re.split(r"[#/]", prop)[-1] == word), row.place)
        found.append(Problem(at, in_words(problem.message, known, row)))
    return list(dict.fromkeys(found))


def in_words(message: str, known: Known, row: WantedRow | None = None) -> str:
    """The message with headers for properties and names for ids."""
    headers = {one.property: one.header for sheet in sheets() for one in sheet.columns}
    if row is not None:
        headers |= {prop: place.rpartition("(")[2].rstrip(")") for prop, place in row.columns.items() if "(" in place}

    def header(match: re.Match[str]) -> str:
        said = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", match[1]).lower()
        return f"'{headers.get(LAY + match[1], said)}'"

    return _WORD.sub(lambda match: _named(match, known), _PROPERTY.sub(header, message))


def _named(match: re.Match[str], known: Known) -> str:
    """The name of what an id stands for; the word itself where it is no id that is known."""
    bare = match[0].strip("<>")
    quoted = match.string[match.start() - 1 : match.start()] in ("'", '"')
    for iri in [bare] if "://" in bare else known.by_id(bare):
        if known.classes(iri):
            name = known.label(iri)
            return name if quoted else f"'{name}'"
    return match[0]

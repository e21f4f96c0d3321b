"""Writes facts as Turtle, a file per few thousand subjects, and counts what it wrote."""

from __future__ import annotations

from pathlib import Path
from types import TracebackType
from typing import Self, TextIO

PREFIXES = """\
@prefix lay:     <https://layshaft.example/vocabulary#> .
@prefix kind:    <https://layshaft.example/kinds/> .
@prefix shop:    <https://shop.example/> .
@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix prov:    <http://www.w3.org/ns/prov#> .
@prefix rdfs:    <http://www.w3.org/2000/01/rdf-schema#> .
@prefix xsd:     <http://www.w3.org/2001/XMLSchema#> .

"""
CLASSES = {
    "contains": "Contains", "fits": "Fits", "machined": "RequiresMachining", "misfit": "DoesNotFit",
    "replaces": "Replaces", "adds": "AddsFeature", "needs": "Needs", "excludes": "Excludes", "shifts": "Shifts",
    "opens": "LaysOpen",
}  # fmt: skip


class Writer:
    """Facts go to `folder`; the next file begins where `turn_page` is called."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.parts = self.edges = self.statements = 0
        self._file: TextIO | None = None
        self._lines: list[str] = []

    def __enter__(self) -> Self:
        self.folder.mkdir(parents=True, exist_ok=True)
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._close()

    def turn_page(self, name: str) -> None:
        """What follows goes to another file."""
        self._close()
        self._file = (self.folder / f"{name}.ttl").open("w", encoding="utf-8")
        self._file.write(PREFIXES)

    def part(self, name: str, label: str, kind: str, *more: str) -> str:
        """A part; `more` are further statements ("lay:cash 40.00"). Hands back its name."""
        self.parts += 1
        self.subject(f"shop:{name}", "lay:Part", f'rdfs:label "{label}"', f"lay:kind kind:{kind}", *more)
        return name

    def edge(self, kind: str, source: str, target: str, *more: str, at: str = "") -> str:
        """An edge between parts or `kind:` terms. `at`: its joint or position. Hands back its name."""
        self.edges += 1
        name = f"{source}-{kind}-{target.removeprefix('kind:')}{f'-{at}' if at else ''}".removeprefix("kind:")
        where = [f"lay:{'position' if kind == 'contains' else 'joint'} kind:{at}"] if at else []
        ends = f"lay:source {_named(source)}", f"lay:target {_named(target)}"
        self.subject(f"shop:{name}", f"lay:{CLASSES[kind]}", *ends, *where, *more)
        return name

    def subject(self, name: str, kind: str, *statements: str) -> None:
        """Any other thing."""
        self.statements += 1 + len(statements)
        self._lines.append(f"{name} a {kind} ; {' ; '.join(statements)} .\n")
        if len(self._lines) > 2000:
            self._flush()

    def _flush(self) -> None:
        if self._file is not None:
            self._file.writelines(self._lines)
            self._lines.clear()

    def _close(self) -> None:
        self._flush()
        if self._file is not None:
            self._file.close()
            self._file = None


def _named(name: str) -> str:
    return name if name.startswith("kind:") else f"shop:{name}"

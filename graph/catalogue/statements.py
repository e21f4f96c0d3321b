"""Facts as they were read: subject -> property -> values, each with the file that says it.

This is the one place that parses RDF for the catalogue. pyoxigraph does the parsing: it reads the house's facts in
milliseconds, where rdflib takes most of a second. Line numbers are looked up in the text only when a problem has to
be shown, because the parser does not hand them out with its statements.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from pyoxigraph import BlankNode, Literal, NamedNode, Quad, RdfFormat, Triple, parse

from graph.catalogue.names import LAY, RDF, SHOP, TYPE, short_name
from graph.errors import InvalidFacts, Problem

Value = NamedNode | BlankNode | Literal
SUFFIXES = (".ttl", ".trig", ".nt", ".nq")
LIST_FIRST, LIST_REST, LIST_NIL = RDF + "first", RDF + "rest", RDF + "nil"


def node_key(node: object) -> str:
    """One string for an IRI or a blank node."""
    return node.value if isinstance(node, NamedNode) else str(node)


@dataclass(slots=True)
class Statements:
    """All statements of some files. `subclasses` maps a class to itself and all that stand under it."""

    values: dict[str, dict[str, list[Value]]] = field(default_factory=dict)
    files: dict[tuple[str, str], str] = field(default_factory=dict)  # (subject, property) -> file
    declared: dict[str, list[str]] = field(default_factory=dict)  # subject -> files that give it a lay: class
    by_class: dict[str, list[str]] = field(default_factory=dict)
    owners: dict[str, tuple[str, str]] = field(default_factory=dict)  # blank node -> (subject, property) it hangs on
    texts: dict[str, str] = field(default_factory=dict)
    lines: dict[str, tuple[list[str], dict[str, int]]] = field(default_factory=dict)  # made when a problem is shown
    subclasses: dict[str, frozenset[str]] = field(default_factory=dict)
    shop_base: str = SHOP

    def add(self, quads: Iterable[Quad | Triple], file: str) -> None:
        """Take in statements that `file` makes."""
        for quad in quads:
            subject, prop, value = node_key(quad.subject), quad.predicate.value, quad.object
            if isinstance(value, Triple):
                continue  # statements about statements: the vocabulary has none
            known = self.values.setdefault(subject, {}).setdefault(prop, [])
            is_class = prop == TYPE and isinstance(value, NamedNode)
            if is_class and value.value.startswith(LAY):
                self.declared.setdefault(subject, []).append(file)
            if value in known:
                continue
            known.append(value)
            self.files.setdefault((subject, prop), file)
            if isinstance(value, BlankNode):
                self.owners.setdefault(node_key(value), (subject, prop))
            if is_class:
                self.by_class.setdefault(value.value, []).append(subject)

    def copy(self, shop_base: str) -> Statements:
        """The same statements, to be added to apart from these; ids are said as a shop with that base says them."""
        return Statements(
            values={s: {prop: list(said) for prop, said in about.items()} for s, about in self.values.items()},
            files=dict(self.files),
            declared={subject: list(files) for subject, files in self.declared.items()},
            by_class={name: list(subjects) for name, subjects in self.by_class.items()},
            owners=dict(self.owners),
            texts=dict(self.texts),
            lines=dict(self.lines),
            subclasses=self.subclasses,
            shop_base=shop_base,
        )

    def about(self, subject: str) -> Mapping[str, Sequence[Value]]:
        """All that is said of the subject, by property; empty if nothing is."""
        return self.values.get(subject, {})

    def file_of(self, subject: str, prop: str) -> str:
        """The file that says so."""
        return self.files.get((subject, prop), "")

    def declared_in(self, subject: str) -> Sequence[str]:
        """The files that give the subject a class of the vocabulary."""
        return self.declared.get(subject, ())

    def get(self, subject: str, prop: str) -> Sequence[Value]:
        return self.about(subject).get(prop, ())

    def classes_of(self, subject: str) -> set[str]:
        return {node_key(value) for value in self.get(subject, TYPE)}

    def is_a(self, subject: str, wanted: str) -> bool:
        """Whether the subject is declared to be of the class or of one under it."""
        return not self.subclasses.get(wanted, frozenset((wanted,))).isdisjoint(self.classes_of(subject))

    def list_of_class(self, wanted: str) -> Iterator[str]:
        """Every subject of the class or of one under it, in the order read."""
        for name in sorted(self.subclasses.get(wanted, frozenset((wanted,)))):
            yield from self.by_class.get(name, ())

    def list_known(self, wanted: str) -> Iterator[str]:
        """Every subject of the class that a reader may have meant (for hints); here the same as `list_of_class`."""
        return self.list_of_class(wanted)

    def list_items(self, head: Value) -> list[Value] | None:
        """The items of an RDF list, or None where it is not a proper list."""
        items: list[Value] = []
        seen: set[str] = set()
        key = node_key(head)
        while key != LIST_NIL:
            first, rest = self.get(key, LIST_FIRST), self.get(key, LIST_REST)
            if key in seen or len(first) != 1 or len(rest) != 1:
                return None
            seen.add(key)
            items.append(first[0])
            key = node_key(rest[0])
        return items

    def place(self, subject: str, prop: str = "") -> str:
        """Where a person finds the statement: file, line, subject, property."""
        owner, inner = self._owner(subject)
        file = self.files.get((subject, prop)) or self._first_file(subject)
        line = self._line(file, owner, prop or inner)
        name = short_name(owner, self.shop_base)
        within = f" {short_name(inner, self.shop_base)}" if inner else ""
        what = f" {short_name(prop, self.shop_base)}" if prop else ""
        return f"{file}{f' line {line}' if line else ''}, {name}{within}{what}"

    def _owner(self, subject: str) -> tuple[str, str]:
        """The named subject that a blank node hangs on, and by which property."""
        inner = ""
        seen: set[str] = set()
        while subject in self.owners and subject not in seen:
            seen.add(subject)
            subject, inner = self.owners[subject]
        return subject, inner

    def _first_file(self, subject: str) -> str:
        if subject in self.declared:
            return self.declared[subject][0]
        return next((self.files[subject, prop] for prop in self.values.get(subject, {})), "")

    def _line(self, file: str, subject: str, prop: str) -> int:
        """The line on which the property of the subject stands, or the subject's; 0 if it is not to be found."""
        if file not in self.lines:
            self.lines[file] = _indexed(self.texts.get(file, ""))
        lines, starts = self.lines[file]
        local = re.split(r"[#/]", subject)[-1]
        names = (f"<{subject}>", short_name(subject, self.shop_base), f":{local}")
        start = next((starts[name] for name in names if name in starts), -1)
        if start < 0 or not prop:
            return start + 1
        wanted = re.compile(rf"[:#/]{re.escape(re.split(r'[#/]', prop)[-1])}\b")
        for number in range(start, min(start + 60, len(lines))):
            if wanted.search(lines[number]):
                return number + 1
            if lines[number].split("#")[0].rstrip().endswith("."):
                break
        return start + 1


def _indexed(text: str) -> tuple[list[str], dict[str, int]]:
    """The lines of a text, and the first line that each word (also without its prefix) opens."""
    lines = text.splitlines()
    starts: dict[str, int] = {}
    for number, line in enumerate(lines):
        words = line.split(maxsplit=1)
        if words and not words[0].startswith("#"):
            starts.setdefault(words[0], number)
            if ":" in words[0] and not words[0].startswith("<"):
                starts.setdefault(":" + words[0].split(":", 1)[1], number)
    return lines, starts


def list_fact_files(paths: Iterable[Path]) -> list[Path]:
    """Every facts file under the paths, each once, in order. Raises InvalidFacts where a path does not exist."""
    found: dict[Path, Path] = {}
    problems = []
    for path in paths:
        if path.is_dir():
            inside = sorted(p for suffix in SUFFIXES for p in path.rglob(f"*{suffix}") if p.is_file())
        elif path.is_file():
            inside = [path]
        else:
            problems.append(Problem(str(path), "no such file or folder; name a facts file or a folder of them"))
            continue
        for file in inside:
            found.setdefault(file.resolve(), file)
    if problems:
        raise InvalidFacts(problems)
    return list(found.values())


def _shown(file: Path) -> str:
    """The file's name as seen from where the program was started, if it stands below."""
    full = file.resolve()
    return str(full.relative_to(Path.cwd())) if full.is_relative_to(Path.cwd()) else str(file)


def _parsed(file: Path) -> tuple[str, list[Quad]]:
    data = file.read_bytes()
    form = RdfFormat.from_extension(file.suffix.lstrip("."))
    if form is None:
        raise InvalidFacts(
            [Problem(_shown(file), f"expected one of {', '.join(SUFFIXES)}; rename or convert the file")]
        )
    text = data.decode("utf-8")
    return text, list(parse(input=data, format=form, rename_blank_nodes=True, base_iri=SHOP))


def read_statements(
    files: Iterable[Path], into: Statements | None = None, keep: list[Quad | Triple] | None = None
) -> tuple[Statements, list[Problem]]:
    """Parse the files. Returns what they state and one problem for each file that does not parse, with its line.

    `keep`: a list that takes the statements themselves, which are then not looked into; only the texts are kept.
    """
    statements = into if into is not None else Statements()
    problems: list[Problem] = []
    for file in files:
        try:
            text, quads = _parsed(file)
        except SyntaxError as error:
            line = f" line {error.lineno}" if error.lineno else ""
            problems.append(Problem(f"{_shown(file)}{line}", f"not valid {file.suffix.lstrip('.')}: {error.msg}"))
        except UnicodeDecodeError as error:
            problems.append(Problem(_shown(file), f"not UTF-8 text at byte {error.start}; save it as UTF-8"))
        except OSError as error:
            problems.append(Problem(_shown(file), f"cannot be read: {error.strerror}"))
        except InvalidFacts as error:
            problems.extend(error.problems)
        else:
            statements.texts[_shown(file)] = text
            if keep is None:
                statements.add(quads, _shown(file))
            else:
                keep.extend(quads)
    return statements, problems

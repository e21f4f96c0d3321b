"""A page as a reader meets it: its words, links, headings and forms, read by the standard library's parser."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}


class Page(HTMLParser):
    """`text`: all words of the body; `links`: (words, address); `tags`: every element with its attributes."""

    def __init__(self, source: str):
        super().__init__()
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.links: list[tuple[str, str]] = []
        self.unbalanced: list[str] = []
        self._words: list[str] = []
        self._link: tuple[str, int] | None = None
        self.feed(source)
        self.close()

    @property
    def text(self) -> str:
        return " ".join(" ".join(self._words).split())

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attributes for name, attributes in self.tags if name == tag]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        attributes = {name: value or "" for name, value in attrs}
        self.tags.append((tag, attributes))
        if tag not in VOID:
            self.open.append(tag)
        if tag == "a":
            self._link = (attributes.get("href", ""), len(self._words))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.unbalanced.append(tag)
        if tag == "a" and self._link is not None:
            address, since = self._link
            self.links.append((" ".join(" ".join(self._words[since:]).split()), address))
            self._link = None

    def handle_data(self, data: str) -> None:
        self._words.append(data)

    def link(self, words: str) -> str:
        """The address of the first link with these words."""
        return next(address for said, address in self.links if words in said)

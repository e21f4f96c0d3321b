"""Papers read back with libraries that did not write them: pypdf and pypdfium2 for PDF, html.parser for HTML."""

from __future__ import annotations

import io
import re
from html.parser import HTMLParser

import pypdfium2
from PIL import Image
from pypdf import PdfReader


def squeezed(text: str) -> str:
    """Without white space, so that line breaks do not matter."""
    return re.sub(r"\s+", "", text)


def text_by_pypdf(data: bytes) -> str:
    """All text of a PDF, as pypdf reads it."""
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def text_by_pdfium(data: bytes) -> str:
    """All text of a PDF, as PDFium reads it."""
    document = pypdfium2.PdfDocument(data)
    return "\n".join(page.get_textpage().get_text_range() for page in document)


def pixels(data: bytes, scale: float = 2.0) -> list[Image.Image]:
    """Every page rendered to grey pixels."""
    return [page.render(scale=scale).to_pil().convert("L") for page in pypdfium2.PdfDocument(data)]


class Outline(HTMLParser):
    """Tags, attributes and text of an HTML document; table rows of cells apart."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self.rows: list[list[str]] = []
        self._skip = self._in_cell = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        self._skip = tag == "style"
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
            self._in_cell = True

    def handle_data(self, data: str) -> None:
        if self._skip:
            return
        self.text += data
        if self._in_cell:
            self.rows[-1][-1] += data.strip()

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self._in_cell = False

"""A paper as sections of blocks, before it is HTML or PDF. Texts are plain; whoever prints them escapes them."""

from __future__ import annotations

from dataclasses import dataclass

ESTIMATE, JOB_SHEET, BUILD_RECORD, DECLARATION = "estimate", "job-sheet", "build-record", "declaration"
KINDS = (ESTIMATE, JOB_SHEET, BUILD_RECORD, DECLARATION)
BLANK = ""  # a value that is completed by hand: printed as a line to write on


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels with their values; an empty value is a line to write on."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table. `widths`: relative widths of the columns; `numeric`: columns that stand to the right."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[int, ...]
    numeric: tuple[int, ...] = ()
    total: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Points:
    """A list. `tick`: each has a box to tick."""

    items: tuple[str, ...]
    tick: bool = False


@dataclass(frozen=True, slots=True)
class Blank:
    """A field to be completed by hand, with so many lines; `boxed`: a box to draw in instead of lines."""

    label: str
    lines: int = 1
    boxed: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as SVG, with its words for those who cannot see it."""

    svg: str
    words: str


@dataclass(frozen=True, slots=True)
class QrCode:
    """An address as a QR code (ISO/IEC 18004), printed in words beside it."""

    address: str
    label: str


Block = Text | Facts | Table | Points | Blank | Picture | QrCode


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with blocks. `caution`: printed so that it is not overlooked, also without colour."""

    heading: str
    blocks: tuple[Block, ...]
    caution: bool = False


@dataclass(frozen=True, slots=True)
class PaperWay:
    """Where a reader of the page can go on to: `words` and `address`. It is not printed."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class Paper:
    """A whole paper. `number` and `dated` stand on every page."""

    kind: str
    title: str
    number: str
    dated: str
    sections: tuple[Section, ...]

    @property
    def head_line(self) -> str:
        """Number and date; a number that nobody gave leaves no head behind."""
        return f"No {self.number} - {self.dated}" if self.is_numbered else self.dated

    @property
    def is_numbered(self) -> bool:
        """Whether it has a number; a dash is none."""
        return self.number.strip() not in ("", "-")

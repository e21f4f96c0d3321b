"""The words beside a section: in one column, in the order of what they point at, never over each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from graph.section.model import CutGap, CutOffset, CutPiece

LABEL_X = 166.0
LETTERS, BOLD = 31, 24  # in a line of a label and in a bold one, at the widest usual letters
LINE = 16.0
BETWEEN = 4.0


@dataclass(slots=True)
class Label:
    """`lines`, the first in bold; `spot`: what it points at, None for what is not drawn; `state`: of a margin, else "".

    `quiet`: how many of the last lines are by the way; `y`: where it stands.
    """

    lines: tuple[str, ...]
    spot: tuple[float, float] | None
    state: str = ""
    quiet: int = 0
    of: tuple[str, str] = ("", "")
    y: float = field(default=0.0)


def label_of_piece(one: CutPiece, spot: tuple[float, float] | None) -> Label:
    """What it is and its length; that it is fitted, where it is."""
    said = f"{one.brief}{', fitted' if one.fitted else ''}"
    return Label(wrapped(said, LETTERS, 2), spot, of=(one.name, one.part))


def label_of_rest(names: Sequence[str]) -> Label:
    """The pieces that are not drawn, together."""
    lines = wrapped(f"place not stated, so not drawn: {', '.join(names)}", LETTERS, 8)
    return Label(lines, None, quiet=len(lines))


def label_of_remark(text: str) -> Label:
    """What a reader must know of the assembly."""
    lines = wrapped(text, LETTERS, 8)
    return Label(lines, None, quiet=len(lines))


def label_of_gap(gap: CutGap, spot: tuple[float, float] | None) -> Label:
    """The dimension with its value, then how surely and its margin. Its limits stand in the list."""
    return Label(_lines(gap.words[:2]), spot, gap.state, of=(gap.chain, ""))


def label_of_offset(one: CutOffset, spot: tuple[float, float] | None) -> Label:
    """The same of what stands behind the gearbox, with what moved it."""
    moved = tuple(f"{share.shift_um / 1000:+.1f} mm {share.label}" for share in one.shares)
    more = tuple(line for text in moved for line in wrapped(text, LETTERS, 1))
    return Label((*_lines(one.words[:2]), *more), spot, one.state, quiet=len(more), of=(one.chain, ""))


def _lines(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(line for at, text in enumerate(words) for line in wrapped(text, BOLD if at == 0 else LETTERS, 4))


def spread(labels: list[Label], top: float) -> list[Label]:
    """The labels from the front rearwards, each as near to what it points at as the others let it; what is not drawn
    comes last."""
    drawn = sorted((one for one in labels if one.spot), key=lambda one: (one.spot or (0, 0))[1])
    rest = [one for one in labels if not one.spot]
    tall = {id(one): len(one.lines) * LINE + BETWEEN for one in labels}
    blocks: list[tuple[float, list[Label]]] = []  # where each run of touching labels begins
    for one in drawn:
        run, begin = [one], _wished(one, tall[id(one)])
        while blocks and blocks[-1][0] + sum(tall[id(each)] for each in blocks[-1][1]) > begin:
            _, before = blocks.pop()
            run = [*before, *run]
            offset, wishes = 0.0, []
            for each in run:
                wishes.append(_wished(each, tall[id(each)]) - offset)
                offset += tall[id(each)]
            begin = sum(wishes) / len(wishes)
        blocks.append((max(begin, top), run))
    end = top
    placed = []
    for begin, run in [*blocks, (0.0, rest)]:
        y = max(begin, end)
        for each in run:
            each.y = y
            y += tall[id(each)]
            placed.append(each)
        end = y
    return placed


def _wished(one: Label, tall: float) -> float:
    return (one.spot[1] if one.spot else 0.0) - tall / 2


def wrapped(text: str, letters: int, most: int) -> tuple[str, ...]:
    """The text in at most so many lines; what does not fit is cut with an ellipsis, for the list beside it has it all.

    >>> wrapped("Hollin bell housing, off a broken box", 29, 2)
    ('Hollin bell housing, off a', 'broken box')
    """
    lines = [""]
    for word in text.replace(" mm", "\N{NO-BREAK SPACE}mm").split(" "):
        if not lines[-1] or len(lines[-1]) + 1 + len(word) <= letters:
            lines[-1] = f"{lines[-1]} {word}".strip()
        else:
            lines.append(word)
    if len(lines) > most:
        lines = [*lines[: most - 1], f"{lines[most - 1]}\N{HORIZONTAL ELLIPSIS}"]
    return tuple(line if len(line) <= letters else f"{line[: letters - 1]}\N{HORIZONTAL ELLIPSIS}" for line in lines)

"""A section read back from its SVG: what each shape stands for, and how long it is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from xml.etree import ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Drawn:
    """A rectangle with the data of its element; `top_mm`, `bottom_mm`: from the block's face, as drawn."""

    data: dict[str, str]
    top_mm: float
    bottom_mm: float

    @property
    def long_mm(self) -> float:
        return self.bottom_mm - self.top_mm


@dataclass(frozen=True)
class Sheet:
    """`columns`: per assembly (before, after) what is drawn; `pixel_mm`: the millimetres that one unit stands for."""

    columns: dict[str, list[Drawn]]
    pixel_mm: float
    texts: list[str]
    labels: dict[str, list[tuple[float, float, str]]]

    def one(self, when: str, key: str, name: str) -> Drawn:
        return next(shape for shape in self.columns[when] if shape.data.get(key) == name)

    def all(self, when: str, key: str) -> list[Drawn]:
        return [shape for shape in self.columns[when] if key in shape.data]


def read_sheet(markup: str) -> Sheet:
    root = ET.fromstring(markup)
    scale, zero = float(root.attrib["data-units-per-mm"]), float(root.attrib["data-block-face-y"])
    columns: dict[str, list[Drawn]] = {}
    labels: dict[str, list[tuple[float, float, str]]] = {}
    for group in root.findall(f"{SVG}g"):
        when = group.attrib["data-when"]
        columns[when], labels[when] = [], []
        for rect in group.findall(f"{SVG}rect"):
            data = {key.removeprefix("data-"): value for key, value in rect.attrib.items() if key.startswith("data-")}
            y, height = float(rect.attrib["y"]), float(rect.attrib["height"])
            columns[when].append(Drawn(data, (y - zero) / scale, (y + height - zero) / scale))
        for inner in group.iter(f"{SVG}g"):
            across = 0.0 if inner is group else float(inner.get("transform", "translate(0 0)")[10:-1].split()[0])
            for text in inner.findall(f"{SVG}text"):
                x = across + float(text.get("x", "0"))
                labels[when].append((x, float(text.attrib["y"]), text.text or ""))
    texts = [text.text or "" for text in root.iter(f"{SVG}text")]
    return Sheet(columns, 1 / scale, texts, labels)


def mm(text: str) -> float | None:
    return float(Decimal(text)) if text else None

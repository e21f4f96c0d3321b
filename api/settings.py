"""What the person who runs the service can set; every setting has a default that is safe on one machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

PREFIX = "LAYSHAFT_"


@dataclass(frozen=True, slots=True)
class Settings:
    """`most_body_bytes`: larger request bodies are refused (413); `most_import_bytes`: those of imports and merges.

    `searches_at_once`: worker threads for answers. `most_parts_per_page`: the largest page of a list.
    """

    most_body_bytes: int = 4_000_000
    most_import_bytes: int = 512 << 20
    searches_at_once: int = 4
    most_parts_per_page: int = 500

    @classmethod
    def from_environment(cls, environment: Mapping[str, str]) -> Self:
        """Settings from LAYSHAFT_MOST_BODY_BYTES and so on. Raises ValueError for one that is not a whole number."""
        names = ("most_body_bytes", "most_import_bytes", "searches_at_once", "most_parts_per_page")
        found = {name: environment[PREFIX + name.upper()] for name in names if PREFIX + name.upper() in environment}
        for name, text in found.items():
            if not text.isdecimal() or int(text) < 1:
                raise ValueError(f"{PREFIX}{name.upper()}: expected a whole number of at least 1, found {text!r}")
        return cls(**{name: int(text) for name, text in found.items()})

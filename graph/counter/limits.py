"""What the searches of one question may take, and where a person sets it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

SECONDS, MEMORY_MB = 20, 1024  # enough for all but the hardest documents of scripts/bench
SECONDS_NAME, MEMORY_NAME = "LAYSHAFT_QUESTION_SECONDS", "LAYSHAFT_QUESTION_MEMORY_MB"


@dataclass(frozen=True, slots=True)
class Limits:
    """The most that a question's searches may take: seconds and megabytes. None: no limit."""

    seconds: float | None = None
    memory_mb: int | None = None


NO_LIMITS = Limits()


def limits_from(environment: Mapping[str, str]) -> Limits:
    """As the settings say, else SECONDS and MEMORY_MB. Raises ValueError for one that is no whole number from 1 up."""
    return Limits(whole_setting(environment, SECONDS_NAME, SECONDS), whole_setting(environment, MEMORY_NAME, MEMORY_MB))


def whole_setting(environment: Mapping[str, str], name: str, default: int) -> int:
    """A setting that is a whole number of at least 1. Raises ValueError."""
    text = environment.get(name, str(default))
    if not text.isdecimal() or int(text) < 1:
        raise ValueError(f"{name}: expected a whole number of at least 1, found {text!r}")
    return int(text)

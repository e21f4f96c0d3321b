"""Facts files for the tests, found by folder and never listed by hand."""

from __future__ import annotations

from pathlib import Path

HERE = Path(__file__).parent
WRONG = sorted((HERE / "wrong").glob("*.ttl"))
GOOD = sorted((HERE / "good").glob("*.ttl"))

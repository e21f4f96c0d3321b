"""Runs one task in the child: from an open file to lines of JSON in another."""

from __future__ import annotations

import errno
import importlib
import json
import os
import resource
from collections.abc import Callable, Iterator, Mapping
from typing import IO, Any

Task = Callable[[IO[bytes], Mapping[str, Any]], Iterator[Any]]


def work(call: Mapping[str, Any], files: list[int]) -> dict[str, Any]:
    """What the task yields from the first file goes to the second, a line each, up to the file size limit."""
    module, _, name = call["task"].partition(":")
    task: Task = getattr(importlib.import_module(module), name)
    left = resource.getrlimit(resource.RLIMIT_FSIZE)[0]
    with os.fdopen(os.dup(files[0]), "rb") as source, os.fdopen(os.dup(files[1]), "wb") as made:
        source.seek(0)
        for item in task(source, {"name": call["name"], **call["given"]}):
            line = json.dumps(item, separators=(",", ":")).encode() + b"\n"
            left -= len(line)
            if left < 0:
                raise OSError(errno.EFBIG, "more than the bound")
            made.write(line)
    return {}

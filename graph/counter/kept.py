"""Answers kept for those who ask again: a page, its papers and its neighbours put the same question."""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from collections.abc import Callable
from weakref import WeakKeyDictionary

from graph.answer.asking import Asked
from graph.answer.serial import question_as_json
from graph.lookups.index import CatalogueIndex
from graph.reading.question import Question

MOST_KEPT = 64
Key = tuple[str, bool]


class KeptAnswers:
    """The last answers, per index: facts or prices that have moved have a new index, and so nothing kept."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._answers: WeakKeyDictionary[CatalogueIndex, OrderedDict[Key, Asked]] = WeakKeyDictionary()

    def answer(self, index: CatalogueIndex, question: Question, with_changes: bool, make: Callable[[], Asked]) -> Asked:
        """What is kept, or what `make` makes, which is then kept. Raises what `make` raises."""
        key = (json.dumps(question_as_json(question), sort_keys=True, default=str), with_changes)
        with self._lock:
            kept = self._answers.setdefault(index, OrderedDict())
            if key in kept:
                kept.move_to_end(key)
                return kept[key]
        made = make()
        with self._lock:
            kept[key] = made
            while len(kept) > MOST_KEPT:
                kept.popitem(last=False)
        return made

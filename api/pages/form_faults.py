"""What the views of forms have in common: the fault beside a field, its label, and which field gets the focus."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from graph.errors import Problem


class FormFaults:
    """For a view with `problems`, each at the name of a field. `labels`: the words beside the fields, in order."""

    __slots__ = ()
    labels: ClassVar[Mapping[str, str]] = {}
    problems: tuple[Problem, ...]

    def fault(self, name: str) -> str:
        """What is wrong with a field; empty if nothing is."""
        return "; ".join(problem.message for problem in self.problems if problem.path == name)

    def label(self, name: str) -> str:
        """The words beside a field; its name where it has none."""
        return self.labels.get(name, name)

    def first(self) -> str:
        """The field that gets the focus: the first that is to be mended."""
        return next((name for name in self.labels if self.fault(name)), self.otherwise())

    def otherwise(self) -> str:
        """The field that gets the focus where none is to be mended."""
        return ""

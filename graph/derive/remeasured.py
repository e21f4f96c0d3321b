"""What was measured anew from one catalogue to the next, and what was taken back."""

from __future__ import annotations

from dataclasses import dataclass, field

from graph.catalogue.layered import list_changed
from graph.catalogue.model import BoltFace, Catalogue, Measurement

Key = tuple[str, str]  # a part or family, and a quantity or joint kind


@dataclass(frozen=True, slots=True)
class Remeasured:
    """Per key the readings and faces that are new, and the ids of those that are no more or other now."""

    readings: dict[Key, tuple[dict[str, Measurement], set[str]]] = field(default_factory=dict)
    faces: dict[Key, tuple[dict[str, BoltFace], set[str]]] = field(default_factory=dict)

    @property
    def owners(self) -> set[str]:
        """The parts and families measured anew."""
        return {of for of, _ in (*self.readings, *self.faces)}


def read_remeasured(before: Catalogue, after: Catalogue) -> Remeasured:
    """What was measured anew, or taken back, from one catalogue to the next."""
    found = Remeasured()
    for name in list_changed(before.measurements, after.measurements):
        if (old := before.measurements.get(name)) is not None:
            found.readings.setdefault((old.of, old.quantity), ({}, set()))[1].add(name)
        if (new := after.measurements.get(name)) is not None:
            found.readings.setdefault((new.of, new.quantity), ({}, set()))[0][name] = new
    for name in list_changed(before.bolt_faces, after.bolt_faces):
        if (was := before.bolt_faces.get(name)) is not None:
            found.faces.setdefault((was.of, was.joint), ({}, set()))[1].add(name)
        if (face := after.bolt_faces.get(name)) is not None:
            found.faces.setdefault((face.of, face.joint), ({}, set()))[0][name] = face
    return found

"""A reading that rules a pair out reaches the answer: nothing is left to hope for."""

from __future__ import annotations

from dataclasses import replace

from graph.catalogue.model import Measurement
from graph.reading import CatalogueIndex, Question, read_conversion
from tests.demo.shop import SETTLED, catalogue

PAIR = {"shaft-tansy-23", "disc-sedge-215"}


def assumed_of_the_pair(known: CatalogueIndex) -> list[str]:
    reading = read_conversion(known, Question(gearbox="tansy-5", engine="pipit-16", context=SETTLED))
    return [
        link.id for joint in reading.conversion.joints for link in joint.links if all(one in link.id for one in PAIR)
    ]


def test_teeth_counted_on_both_sides_that_differ_leave_nothing_to_hope_for() -> None:
    """Ten teeth on the shaft, 23 in the hub: the bench said "does not hold", the answer went on to ask."""
    teeth = {
        f"counted-{part}": Measurement(id=f"counted-{part}", quantity="spline-teeth", of=part, reading=f"{count} teeth")
        for part, count in (("shaft-tansy-23", 10), ("disc-sedge-215", 23))
    }
    counted = replace(catalogue(), measurements={**catalogue().measurements, **teeth})

    before, after = (assumed_of_the_pair(CatalogueIndex(known)) for known in (catalogue(), counted))

    assert [one.rpartition(" ")[2] for one in before] == ["known"]  # nobody has stated it
    assert [one.rpartition(" ")[2] for one in after] == ["remedied"]  # it does not close: what puts it right is due

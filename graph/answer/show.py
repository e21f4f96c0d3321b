"""Findings as plain JSON values, for the service and the command line alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from graph.answer.serial import part_as_json
from graph.catalogue.measurements import COUNT, WORD
from graph.catalogue.model import Measurement
from graph.catalogue.near import near_matches
from graph.derive.around import deriver_of
from graph.derive.explain import Explained
from graph.errors import NotFound
from graph.exact import plain
from graph.fits.as_json import Json, result_as_json
from graph.fits.overlay import list_rows, overlay_svg
from graph.fits.pattern import Face
from graph.fits.pattern_check import check_faces
from graph.fits.sketch import Sketch, sketch_lines
from graph.fits.sketch_svg import sketch_svg
from graph.identify.identify import Identification
from graph.lookups.index import CatalogueIndex
from graph.what_if.kinds import read_what_if, try_what_if


def explained_as_json(explained: Explained) -> Json:
    """The edge, how the arithmetic stands to it, the result with its working, and the sublet sketches."""
    finding = explained.finding
    return {
        "edge": part_as_json(explained.edge),
        "standing": explained.standing,
        "note": part_as_json(explained.note),
        "unknown": finding.unknown.text if finding and finding.unknown else None,
        "disagreement": finding.disagreement.text if finding and finding.disagreement else None,
        "result": result_as_json(finding.result) if finding and finding.result else None,
        "sketches": sketches_as_json(explained.sketches),
    }


def sketches_as_json(sketches: Iterable[Sketch]) -> list[Json]:
    """Each sketch in words and drawn."""
    return [
        {"lines": list(sketch_lines(sketch)), "svg": sketch_svg(sketch, f"sketch-{number}")}
        for number, sketch in enumerate(sketches, start=1)
    ]


def what_if_as_json(kind: str, inputs: Mapping[str, str]) -> Json:
    """A check on typed dimensions, how each was read, and the sketches of its work. Raises NotFound, InvalidInput."""
    result, sketches = try_what_if(kind, inputs)
    return {**result_as_json(result), "read": read_what_if(kind, inputs), "sketches": sketches_as_json(sketches)}


def identification_as_json(found: Identification) -> Json:
    """The variants by probability, and what to find out next."""
    return {
        "summary": found.summary,
        "identified": found.identified,
        "something_else": round(found.something_else, 6),
        "doubt_bits": round(found.doubt_bits, 6),
        "variants": [
            {
                "variant": one.variant, "label": one.label, "probability": round(one.probability, 6),
                "possible": one.possible, "contradictions": list(one.contradictions), "unknown": list(one.unknown),
            }
            for one in found.standings
        ],
        "next": [
            {
                "quantity": step.feature, "label": step.label, "how": step.how, "minutes": plain(step.minutes),
                "bits": round(step.bits, 6), "bits_per_minute": round(step.bits_per_minute, 6),
                "outcomes": [{"finding": finding, "variants": list(ids)} for finding, ids in step.outcomes],
            }
            for step in found.next_steps
        ],
    }  # fmt: skip


def overlay_as_json(a: Face, b: Face, lean_deg: float = 180.0) -> Json:
    """Two faces over each other at the best clocking: the result, the rows of the legend and the drawing."""
    fit = check_faces(a, b, from_deg=-lean_deg, to_deg=lean_deg)
    clocking = fit.clocking
    return {
        "result": result_as_json(fit.result),
        "angle_deg": None if clocking is None else round(clocking.angle_deg, 4),
        "rows": [] if clocking is None else [part_as_json(row) for row in list_rows(a, b, clocking)],
        "svg": None if clocking is None else overlay_svg(a, b, clocking),
        "other_angles_deg": [round(other.angle_deg, 4) for other in fit.others],
    }


def face_of(index: CatalogueIndex, part: str, joint: str) -> Face:
    """The measured bolt face of a part. Raises NotFound where nobody has measured it."""
    found = deriver_of(index).measured.face(part, joint) if part in index.catalogue.parts else None
    if found is None:
        measured = [face.of for face in index.catalogue.bolt_faces.values() if face.joint == joint]
        raise NotFound(f"measured bolt face ({joint})", part, near_matches(part, measured) or tuple(measured[:3]))
    return found


def measurements_as_json(index: CatalogueIndex, part: str) -> Json:
    """Every reading of the part and its families, as read and settled, with what is in dispute."""
    if part not in index.catalogue.parts:
        raise NotFound("part", part, near_matches(part, index.catalogue.parts))
    measured = deriver_of(index).measured
    lineage = index.lineage(part)
    facts = [fact for fact in index.catalogue.measurements.values() if fact.of in lineage]
    return {
        "part": part,
        "measurements": [_fact_as_json(index, fact) for fact in facts],
        "settled": [_settled(index, part, quantity) for quantity in dict.fromkeys(fact.quantity for fact in facts)],
        "bolt_faces": [part_as_json(face) for face in index.catalogue.bolt_faces.values() if face.of in lineage],
        "disputes": [dispute.text() for dispute in measured.disputes(part)],
    }


def _fact_as_json(index: CatalogueIndex, fact: Measurement) -> Json:
    quantity = index.catalogue.quantities[fact.quantity]
    return {**part_as_json(fact), "label": quantity.label, "dimension": quantity.dimension}


def _settled(index: CatalogueIndex, part: str, name: str) -> Json:
    measured, quantity = deriver_of(index).measured, index.catalogue.quantities[name]
    value: Any = None
    if quantity.dimension == WORD:
        word = measured.word(part, name)
        value = word.text if word else None
    elif quantity.dimension == "length":
        length = measured.length(part, name)
        value = {"nominal_mm": plain(length.nominal_nm, 10**6), "text": length.text()} if length else None
    else:
        number = measured.number(part, name)
        value = plain(number[0]) if number else None
    unit = {COUNT: "", WORD: "", "length": "mm", "angle": "deg", "torque": "N m", "ratio": ":1"}[quantity.dimension]
    why = "" if value is not None else measured.gap(part, name).why
    return {"quantity": name, "label": quantity.label, "value": value, "unit": unit, "why_not": why}

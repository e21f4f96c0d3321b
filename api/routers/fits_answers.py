"""What the fits endpoints answer, for the OpenAPI description. A test reads real answers with these models.

The core writes the JSON (graph/fits/as_json.py, graph/answer/show.py); these classes only say what is in it.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from api.shapes import shape
from graph.answer.model.doubt import MeasureFirst

Number = int | float


class Answered(BaseModel):
    """Nothing more is in it than is said here."""

    model_config = ConfigDict(extra="forbid")


class AmountAnswer(Answered):
    """A number with its unit, and both as a fitter reads them."""

    value: Number
    unit: str
    text: str


class SpanAnswer(Answered):
    """A computed length: nominal, worst case and root-sum-square limits."""

    name: str
    nominal: AmountAnswer
    worst_case: Annotated[list[AmountAnswer], Field(min_length=2, max_length=2)]
    rss: Annotated[list[AmountAnswer], Field(min_length=2, max_length=2)]
    text: str


class FinishedSizeAnswer(Answered):
    """A size that work is to end up with, its limits and its fit's class."""

    place: str
    nominal: AmountAnswer
    low: AmountAnswer
    high: AmountAnswer
    fit: str
    text: str


class WorkAnswer(Answered):
    """One thing to do and how much. `remedy`: the part to be had for it. `weak`: a makeshift."""

    operation: str
    on: str
    text: str
    amount: AmountAnswer | None
    remedy: str
    irreversible: bool
    weak: bool
    sizes: list[FinishedSizeAnswer]


class MissingAnswer(Answered):
    """What to measure, why, and from which face."""

    name: str
    why: str
    datum: str
    text: str


class LineAnswer(Answered):
    """A line of working: symbol = formula = numbers = value, with its source."""

    symbol: str
    formula: str
    numbers: str
    value: str
    source: str
    text: str


class ResultAnswer(Answered):
    """A check's result. `verdict`: holds, holds with work, fails or unknown. `evidence_rank`: 1 is the surest."""

    joint: str
    verdict: str
    summary: str
    margin: AmountAnswer | None
    binding: str
    values: list[SpanAnswer]
    work: list[WorkAnswer]
    choices: list[list[WorkAnswer]]
    measure: list[MissingAnswer]
    working: list[LineAnswer]
    cautions: list[str]
    evidence_rank: int
    parts: list[ResultAnswer]


class SketchAnswer(Answered):
    """A sublet sketch: its words line by line, and the drawing as SVG."""

    lines: list[str]
    svg: str


class CheckAnswer(ResultAnswer):
    """A check that was tried: how each input was read, and a sketch for each piece of work that a machine shop does."""

    read: dict[str, str]
    sketches: list[SketchAnswer]


class InputAnswer(Answered):
    """An input of a check and how it is written. `words`: what a word may be."""

    about: str
    write: str
    needed: bool
    words: list[str]


class CheckKindAnswer(Answered):
    """A check that can be tried, and its inputs by name."""

    about: str
    inputs: dict[str, InputAnswer]


class VariantAnswer(Answered):
    """A variant: how probable, what speaks against it, and what is not known of it."""

    variant: str
    label: str
    probability: float
    possible: bool
    contradictions: list[str]
    unknown: list[str]


class OutcomeAnswer(Answered):
    """What might be found, and the variants that would remain."""

    finding: str
    variants: list[str]


class FindOutAnswer(Answered):
    """What to find out next: information in bits, per minute of work."""

    quantity: str
    label: str
    how: str
    minutes: Number
    bits: float
    bits_per_minute: float
    outcomes: list[OutcomeAnswer]


class IdentificationAnswer(Answered):
    """Which variants remain. `something_else`: the odds that it is none of them."""

    summary: str
    identified: str | None
    something_else: float
    doubt_bits: float
    variants: list[VariantAnswer]
    next: list[FindOutAnswer]


class OverlayAnswer(Answered):
    """Two faces over each other at the best angle. `rows`: hole by hole."""

    result: ResultAnswer
    angle_deg: float | None
    rows: list[dict[str, Any]]
    svg: str | None
    other_angles_deg: list[float]


class WorkingAnswer(Answered):
    """The working behind an edge. `standing`: computed, agrees or disagrees with the note, undecided, not computed."""

    edge: dict[str, Any]
    standing: str
    note: dict[str, Any] | None
    unknown: str | None
    disagreement: str | None
    result: ResultAnswer | None
    sketches: list[SketchAnswer]


class SettledAnswer(Answered):
    """What the readings of one quantity come to; `why_not` where they contradict each other."""

    quantity: str
    label: str
    value: Any
    unit: str
    why_not: str


class MeasurementsAnswer(Answered):
    """Everything measured of a part: readings as read, what they settle to, bolt faces, disputes."""

    part: str
    measurements: list[dict[str, Any]]
    settled: list[SettledAnswer]
    bolt_faces: list[dict[str, Any]]
    disputes: list[str]


class NextMeasurementAnswer(Answered):
    """A missing measurement. Expected costs in currency units; null where there is no route."""

    part: str
    quantity: str
    text: str
    why: str
    tool: str
    minutes: Number
    joints: list[str]
    now: Number | None
    if_holds: Number | None
    if_fails: Number | None
    change: Number | None
    if_work: Number | None
    tried: bool
    decides: bool


class MeasurePlanAnswer(Answered):
    """What to measure first: the plan of the answer to the same question. Money in currency units."""

    status: str
    headline: str
    asks: list[str]
    first: list[shape(MeasureFirst)]  # type: ignore[valid-type]  # made from the core's dataclass
    missing: list[NextMeasurementAnswer]
    words: list[str]
    cautions: list[str]

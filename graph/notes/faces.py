"""A face measured by photo or by hand, kept as a note: which part, at which joint, which holes, and on what it rests.

What is asked (`FaceAsked`) holds texts as typed; the same goes through page, API and command. Where it rests on photos,
they are read anew before anything is written, so that no number is taken from who sends it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import pyoxigraph as ox

from graph.catalogue.kinds import can_hold
from graph.catalogue.model import Part
from graph.catalogue.names import KIND, LAY, RDF
from graph.derive.around import deriver_of
from graph.errors import InvalidInput, Problem
from graph.fits.model import NM_PER_MM, show_nm
from graph.fits.pattern import SIDES, Face, Hole
from graph.ledger.book import Ledger, Retry
from graph.ledger.identity import new_id, note_iri
from graph.ledger.photos import keep_photo
from graph.ledger.record import Draft, Entry
from graph.ledger.statements import canonical
from graph.lookups.index import CatalogueIndex
from graph.notes.form import Choice as PartChoice
from graph.notes.form import FormInDoubt, find_part, iri_of
from graph.notes.readings import EVIDENCE
from graph.photo.by_hand import DISAGREES, solve
from graph.photo.chosen import PlacedHole, face_from
from graph.photo.combine import Combined, combine
from graph.photo.hand import Solved
from graph.photo.model import SeenHole, found_as_json
from graph.photo.task import read_photo
from graph.photo.typed import read_choices, read_clockwise, read_hand, read_level, read_printed

PHOTO, BY_HAND = "photo", "by hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotosAsked:
    """Photos of one face, and what the sheet's check lines measure, as typed. `moved`: the sheet between them."""

    photos: tuple[tuple[str, bytes], ...]
    across: str = ""
    along: str = ""
    tool: str = "calliper"
    under: str = ""
    moved: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HandAsked:
    """Holes and entries, a line each, and three holes in clockwise order, as typed."""

    holes: str
    entries: str
    uncertainty: str = ""
    clockwise: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceAsked:
    """What is to be kept: of which `part` (id or words), at which `joint`, `seen_from` rear or front, `choices` as
    `HOLE = ROLE [SIZE]`; `datum`: the axis's name; `by_bolts`, `level`: see `face_from`."""

    part: str
    joint: str
    seen_from: str
    choices: tuple[str, ...]
    datum: str = ""
    by_bolts: bool = False
    level: str = ""
    author: str = ""
    text: str = ""
    job: str = ""
    shareable: bool = False


@dataclass(frozen=True, slots=True)
class PhotosRead:
    """What was read off photos: the `combined` holes, each photo's figures (`photos`), their straightened pictures."""

    combined: Combined
    photos: tuple[Any, ...] = ()
    placed: tuple[PlacedHole, ...] = field(default=())


def read_photos(asked: PhotosAsked) -> PhotosRead:
    """The holes of all photos together. Raises InvalidInput naming the photo, LimitExceeded, Busy."""
    printed = read_printed(asked.across, asked.along, asked.tool, asked.under)
    if not asked.photos:
        raise InvalidInput([Problem("photo", "choose a photo of the face with the sheet on it")])
    found, problems = [], []
    for number, (name, content) in enumerate(asked.photos, start=1):
        try:
            found.append(read_photo(content, printed, name or f"photo {number}"))
        except InvalidInput as error:
            which = f"photo {number}: " if len(asked.photos) > 1 else ""
            problems += [Problem(one.path, f"{which}{one.message}") for one in error.problems]
    if problems:
        raise InvalidInput(problems)
    combined = combine(found, moved=asked.moved)
    return PhotosRead(combined, tuple(found), tuple(_placed(hole) for hole in combined.holes))


def seen_as_json(read: PhotosRead) -> dict[str, Any]:
    """What was read off photos, as plain values."""
    photos = [found_as_json(one) for one in read.photos]
    holes = [
        asdict(hole) | {"ticked": hole.sure, "seen_in": seen}
        for hole, seen in zip(read.combined.holes, read.combined.seen, strict=True)
    ]
    return {"holes": holes, "notes": list(read.combined.notes),
            "photos": [{name: value for name, value in one.items() if name != "holes"} for one in photos]}  # fmt: skip


def _placed(hole: SeenHole) -> PlacedHole:
    return PlacedHole(name=str(hole.number), x_mm=hole.x_mm, y_mm=hole.y_mm, u_mm=hole.u_mm,
                      diameter_mm=hole.diameter_mm)  # fmt: skip


def solve_by_hand(asked: HandAsked) -> Solved:
    """The pattern of what was typed. Raises InvalidInput with every fault at its line."""
    holes, entries = read_hand(asked.holes, asked.entries, asked.uncertainty)
    return solve(holes, entries, read_clockwise(asked.clockwise))


def settled(solved: Solved) -> tuple[PlacedHole, ...]:
    """The holes where all are determined. Raises InvalidInput with what is still open."""
    if not solved.settled:
        raise InvalidInput([Problem("entries", words) for words in solved.notes])
    odd = [words for words in solved.notes if DISAGREES in words]
    if odd:
        raise InvalidInput([Problem("entries", words) for words in odd])
    axis = (PlacedHole(name="axis", x_mm=0.0, y_mm=0.0, u_mm=0.01),) if solved.has_axis else ()
    return (*solved.holes, *axis)


def _chosen(
    index: CatalogueIndex, asked: FaceAsked, placed: Sequence[PlacedHole], *, has_axis: bool = False
) -> tuple[Face, Part]:
    """The face about its axis, and the part it is of. Raises FormInDoubt with every fault and the choices it leaves.

    `has_axis`: the places are about the axis already, as typed by hand.
    """
    problems: list[Problem] = []
    choices: dict[str, tuple[PartChoice, ...]] = {}
    part = find_part(index, "part", asked.part, problems, choices)
    problems += _fields(index, asked, part)
    face = None
    try:
        said = list(asked.choices)
        if has_axis and not any(line.partition("=")[2].strip().startswith("bore") for line in said):
            said.append("axis = bore")
        face = face_from(
            placed, read_choices(said), label=part.label if part else asked.part, seen_from=asked.seen_from or SIDES[0],
            datum=asked.datum, by_bolts=asked.by_bolts, level=read_level(asked.level),
        )  # fmt: skip
    except InvalidInput as error:
        problems += error.problems
    if problems or face is None or part is None:
        raise FormInDoubt(problems, choices)
    return face, part


def _fields(index: CatalogueIndex, asked: FaceAsked, part: Part | None) -> Iterator[Problem]:
    joints = index.catalogue.joint_kinds
    if asked.joint not in joints:
        yield Problem("joint", "say at which joint the face is, such as engine-face")
    elif part is not None and not any(
        can_hold(index.catalogue, part.kind, side) for side in joints[asked.joint].between
    ):
        yield Problem("joint", f"{part.label} has no face at {joints[asked.joint].label}")
    if asked.seen_from not in SIDES:
        yield Problem("seen_from", "say from where it was seen: rear (from the gearbox towards the engine) or front")
    if not asked.author.strip():
        yield Problem("author", "say who measured: initials or a role will do")
    if not asked.by_bolts and not asked.datum.strip():
        yield Problem("datum", "say which axis the places are about, such as crank axis or input shaft axis")


def list_face_joints(index: CatalogueIndex) -> tuple[str, ...]:
    """The joint kinds of which somebody has measured a face, else all, by id."""
    measured = {face.joint for face in index.catalogue.bolt_faces.values()}
    return tuple(sorted(measured or index.catalogue.joint_kinds))


def known_face(index: CatalogueIndex, part: str, joint: str) -> Face | None:
    """The face that counts now, if there is one."""
    return deriver_of(index).measured.face(part, joint)


def keep_photos(ledger: Ledger, photos: Sequence[tuple[str, bytes]]) -> tuple[str, ...]:
    """Keeps the photos that a face rests on, and says their IRIs. Raises InvalidInput."""
    return tuple(keep_photo(ledger, content, "", name[:200]).iri for name, content in photos)


def write_face(
    ledger: Ledger, index: CatalogueIndex, asked: FaceAsked, found: PhotosRead | Solved, *,
    documents: Callable[[], Sequence[str]] = tuple, own: Sequence[str] = (), recorded_by: str = "",
    retry: Retry | None = None,
) -> tuple[Entry, str]:  # fmt: skip
    """Writes what photos or readings show as one note, and hands it back with the id of the part that it is of.

    `documents`: keeps the photos that it rests on and says their IRIs; asked for once the face is found good. `own`:
    joints that the shop has named itself. Raises FormInDoubt with every fault, InvalidInput for readings that leave a
    place open.
    """
    if isinstance(found, PhotosRead):
        face, part = _chosen(index, asked, found.placed)
        method, doubts = PHOTO, doubts_of(found, asked)
    else:
        face, part = _chosen(index, asked, settled(found), has_axis=found.has_axis)
        method, doubts = BY_HAND, {}
    note_id = new_id()
    draft = _draft(
        face, part, asked, base=ledger.base, note_id=note_id, own=own, method=method, documents=documents(),
        doubts=doubts, recorded_by=recorded_by,
    )  # fmt: skip
    return ledger.append(draft, note_id=note_id, retry=retry), part.id


def _draft(
    face: Face, part: Part, asked: FaceAsked, *, base: str, note_id: str, own: Sequence[str] = (), method: str = PHOTO,
    documents: Sequence[str] = (), doubts: Mapping[str, Sequence[str]] | None = None, recorded_by: str = "",
) -> Draft:  # fmt: skip
    """The note. `own`: joints that the shop has named itself; `doubts`: of holes that were taken in spite of them."""
    iri, how = note_iri(base, note_id), BY_HAND if method == BY_HAND else f"by {method}"
    text = asked.text.strip() or (
        f"Hole pattern of {part.label} at {asked.joint}, measured {how}: {len(face.holes)} holes about the"
        f" {face.axis}, seen from the {face.seen_from}, places within {show_nm(face.uncertainty_nm)}."
    )
    besides = [f"Photo {number}: {document}" for number, document in enumerate(documents[1:], start=2)]
    besides += [f"Hole {name}, chosen in spite of: {'; '.join(said)}" for name, said in (doubts or {}).items()]
    return Draft(
        text="\n".join((text, *besides)), statements=canonical(_triples(face, part, asked, base, iri, own)),
        author=asked.author.strip(), evidence=EVIDENCE, method=method, job=asked.job.strip(),
        document=documents[0] if documents else "", shareable=asked.shareable, recorded_by=recorded_by,
    )  # fmt: skip


def _triples(face: Face, part: Part, asked: FaceAsked, base: str, iri: str, own: Sequence[str]) -> Iterator[ox.Triple]:
    subject = ox.NamedNode(f"{iri}/nodes/1")
    yield ox.Triple(subject, ox.NamedNode(RDF + "type"), ox.NamedNode(LAY + "BoltFace"))
    links = {"measuredOn": part.id if "://" in part.id else base + part.id, "joint": iri_of(asked.joint, base, own),
             "evidence": KIND + EVIDENCE, "note": iri}  # fmt: skip
    for name, target in links.items():
        yield ox.Triple(subject, ox.NamedNode(LAY + name), ox.NamedNode(target))
    texts = {"datum": face.axis, "seenFrom": face.seen_from, "uncertainty": show_exact(face.uncertainty_nm)}
    for name, text in texts.items():
        yield ox.Triple(subject, ox.NamedNode(LAY + name), ox.Literal(text))
    for number, hole in enumerate(face.holes, start=2):
        node = ox.NamedNode(f"{iri}/nodes/{number}")
        yield ox.Triple(subject, ox.NamedNode(LAY + "hole"), node)
        yield ox.Triple(node, ox.NamedNode(RDF + "type"), ox.NamedNode(LAY + "Hole"))
        for name, text in _hole_texts(hole).items():
            yield ox.Triple(node, ox.NamedNode(LAY + name), ox.Literal(text))


def _hole_texts(hole: Hole) -> dict[str, str]:
    said = {"holeName": hole.id, "x": show_exact(hole.x_nm), "y": show_exact(hole.y_nm),
            "diameter": show_exact(hole.diameter_nm), "use": hole.use}  # fmt: skip
    return said | ({"thread": hole.thread} if hole.thread else {})


def show_exact(nm: int) -> str:
    """A length with its unit, as finely as it is kept.

    >>> show_exact(118_250_000), show_exact(-500_000)
    ('118.25 mm', '-0.5 mm')
    """
    return f"{nm / NM_PER_MM:.6f}".rstrip("0").rstrip(".") + " mm"


def doubts_of(read: PhotosRead, asked: FaceAsked) -> dict[str, tuple[str, ...]]:
    """What spoke against each hole that is chosen all the same."""
    chosen = {one.hole for one in read_choices(asked.choices)}
    return {str(hole.number): hole.doubts for hole in read.combined.holes if str(hole.number) in chosen and hole.doubts}

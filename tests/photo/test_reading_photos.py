"""A photo read: drawn by a renderer that knows nothing of the reader (`drawn.py`), smaller than a phone's."""

from __future__ import annotations

import io
import struct
import zlib

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from graph.errors import InvalidInput, LayshaftError
from graph.photo.combine import combine
from graph.photo.corners import find_sheet
from graph.photo.model import Printed, found_as_json, found_of
from graph.photo.reading import read_grey
from graph.photo.sheet import MISSING
from graph.photo.sheet_pdf import sheet_pdf
from graph.photo.task import BOUNDS, decoded, read_photo
from graph.photo.typed import read_printed
from tests.photo.drawn import BELL, Drawn, bell, coarse, draw
from tests.photo.judged import Judged, judge

pytestmark = pytest.mark.takes_turns(6)  # drawing a photo takes a second or two
EXACT = Printed(across_mm=140.0, along_mm=140.0, line_u_mm=0.05, under_mm=0.0)
# Things that are no holes where a hole could be, with what must be said of them or why they are not listed at all.
THINGS = [(150.0, 12.0, 16.0, "bolt"), (128.0, 96.0, 14.0, "hexagon"), (168.0, -74.0, 13.0, "cap"),
          (52.0, -137.5, 12.0, "ellipse"), (-70.0, 146.0, 16.0, "coin"), (84.0, 146.0, 13.0, "slot")]  # fmt: skip


def refused(photo: NDArray[np.uint8], printed: Printed = EXACT) -> str:
    with pytest.raises(InvalidInput) as told:
        read_grey(photo, printed)
    assert {one.path for one in told.value.problems} == {"photo"}
    return str(told.value)


def drawn(**changed: object) -> NDArray[np.uint8]:
    with coarse():
        return draw(bell(**changed))


def test_the_holes_of_a_bell_lie_where_they_were_drawn(bell_grey: NDArray[np.uint8]) -> None:
    found = read_grey(bell_grey, EXACT)

    assert len(found.holes) == len(BELL) and found.corners == 80
    for hole in found.holes:
        x, y, across = min(BELL, key=lambda one: abs(one[0] - hole.x_mm) + abs(one[1] - hole.y_mm))
        assert np.hypot(hole.x_mm - x, hole.y_mm - y) <= hole.u_mm <= 0.3
        assert abs(hole.diameter_mm - across) <= hole.diameter_u_mm <= 0.3
        assert hole.sure
    assert 5 < found.tilt_deg < 7
    assert Image.open(io.BytesIO(found.view)).size[0] <= 1101


def test_a_print_that_is_too_small_is_told_by_its_lines_and_an_unread_line_is_asked_for() -> None:
    """The printer made 0.97 of a millimetre: with the lines as they measure, sizes come out right."""
    photo = drawn(across=0.97, along=0.98)
    lines = read_printed("135.8 mm", "137.2 mm", under="0 mm")

    for hole in read_grey(photo, lines).holes:
        miss = min(np.hypot(hole.x_mm - x, hole.y_mm - y) for x, y, _ in BELL)
        assert miss <= hole.u_mm < 0.35
    with pytest.raises(InvalidInput, match="across: say what the check line across measures.*along: say what"):
        read_printed("", "")
    with pytest.raises(InvalidInput, match="far from the 140 mm drawn: print at 100 %"):
        read_printed("5.5 mm", "140 mm")


def test_a_rule_leaves_more_doubt_than_a_calliper_and_far_holes_more_than_near(bell_grey: NDArray[np.uint8]) -> None:
    by_calliper = read_grey(bell_grey, EXACT).holes
    by_rule = read_grey(bell_grey, read_printed("140", "140", "rule", "0")).holes

    assert all(rough.u_mm > fine.u_mm + 0.2 for rough, fine in zip(by_rule, by_calliper, strict=True))
    near, far = (min(by_calliper, key=lambda one: s * one.beside_sheet_mm) for s in (1, -1))
    assert far.u_mm > near.u_mm


def test_a_hidden_third_of_the_sheet_a_shadow_and_clutter_cost_no_hole() -> None:
    judged = Judged()
    with coarse():
        found = judge(bell(cover=0.33, shadow=0.5, clutter=9, tilt_deg=14.0, across=0.99, seed=4), judged)

    assert found is not None and found.corners < 70
    assert judged.covered == 1.0 and not judged.wrong_and_ticked
    assert any("corners are hidden" in words for words in found.notes)


@pytest.mark.parametrize(("bow_mm", "tilt_deg"), [(1.0, 10.0), (3.0, 2.0)])
def test_paper_that_bows_a_little_makes_the_holes_less_sure_not_wrong(bow_mm: float, tilt_deg: float) -> None:
    judged = Judged()
    with coarse():
        judge(bell(bend_mm=bow_mm, tilt_deg=tilt_deg, seed=int(bow_mm)), judged)

    assert judged.covered == 1.0
    assert max(stated for _, stated in judged.misses) > 0.3


def test_what_is_no_hole_is_never_ticked() -> None:
    found = read_grey(drawn(holes=[], heads=list(THINGS), depth=0.0), EXACT)

    assert not [hole for hole in found.holes if hole.sure]
    assert any("three at least make a pattern" in words for words in found.notes)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"sheets": 0}, "no sheet is found in the picture: print the sheet"),
        ({"bend_mm": 9.0}, "do not lie in one plane.*tape it flat"),
        ({"blur_px": 6.0}, "blurred.*(hold the camera still|tap on the sheet)"),
        ({"cover": 0.8}, "corners can be seen, at least 20 are needed|only a strip of the sheet"),
        ({"reach_mm": 420.0}, "small in the picture.*go nearer"),
    ],
)
def test_a_photo_that_would_mislead_is_refused_with_what_to_do(changed: dict[str, object], words: str) -> None:
    import re

    told = refused(drawn(**changed))
    assert re.search(words, told), told


def test_two_sheets_are_one_too_many(bell_grey: NDArray[np.uint8]) -> None:
    both = np.hstack([bell_grey, bell_grey])
    assert "more than one sheet" in refused(both)


def test_a_hole_that_the_border_cuts_off_is_said() -> None:
    """The camera looks 120 mm further left, so that its picture ends near the middle of the bore."""
    cut = read_grey(drawn(sheet_at=(-90.0, 5.0), tilt_deg=2.0, roll_deg=0.0), EXACT)

    assert any("cut off by the picture's border" in words for words in cut.notes)
    assert not [hole for hole in cut.holes if hole.diameter_mm > 30]


def test_a_photo_that_was_cropped_does_not_pass_for_a_whole_one(bell_grey: NDArray[np.uint8]) -> None:
    """The lens's middle is then not the picture's: the corners tell."""
    assert "not edited" in refused(bell_grey[:, :1_450])


def test_photos_with_the_sheet_moved_are_laid_on_each_other_and_make_holes_surer(bell_grey: NDArray[np.uint8]) -> None:
    """The second has the sheet 60 mm lower and turned: the same holes by other numbers."""
    first = read_grey(bell_grey, EXACT)
    turn, shift = np.radians(11), np.array([14.0, -60.0])
    back = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    there = [(*(back @ (np.array([x, y]) - shift)), across) for x, y, across in BELL]
    with coarse(half=250.0):
        photo = draw(bell(holes=there, sheet_at=(20.0, 65.0), seed=9, tilt_deg=9.0, reach_mm=200.0))
    second = read_grey(photo, EXACT)
    together = combine([first, second], moved=True)

    assert sum(seen == 2 for seen in together.seen) >= 4
    for hole in together.holes:
        assert min(np.hypot(hole.x_mm - x, hole.y_mm - y) for x, y, _ in BELL) <= hole.u_mm
    with pytest.raises(InvalidInput, match="share no hole"):
        combine([first, second], moved=False)


def test_photos_that_contradict_each_other_are_said(bell_grey: NDArray[np.uint8]) -> None:
    from dataclasses import replace

    first = read_grey(bell_grey, EXACT)
    moved = replace(first.holes[0], x_mm=first.holes[0].x_mm + 1.5)
    together = combine([first, replace(first, holes=(moved, *first.holes[1:]))], moved=False)

    odd = [hole for hole in together.holes if any("photos differ by 1.5" in words for words in hole.doubts)]
    assert len(odd) == 1 and not odd[0].sure and odd[0].u_mm > 1
    assert any("photos differ" in words for words in together.notes)


def test_a_pattern_that_repeats_cannot_be_laid_by_its_holes(bell_grey: NDArray[np.uint8]) -> None:
    from dataclasses import replace

    first = read_grey(bell_grey, EXACT)
    angles = np.arange(6) * np.pi / 3
    six = tuple(replace(first.holes[0], number=n, x_mm=120 * float(np.cos(a)), y_mm=120 * float(np.sin(a)))
                for n, a in enumerate(angles))  # fmt: skip
    ring = replace(first, holes=six)

    with pytest.raises(InvalidInput, match="several turns, for the pattern repeats"):
        combine([ring, ring], moved=True)
    assert len(combine([ring, ring], moved=False).holes) == 6


def test_the_sheet_as_printed_is_found_and_measures_a_millimetre_as_one() -> None:
    """Rendered by pdfium at 254 points an inch, ten a millimetre, both papers."""
    import pypdfium2

    for paper, (wide, high) in {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}.items():
        page = pypdfium2.PdfDocument(sheet_pdf(paper))[0]
        assert page.get_width() * 25.4 / 72 == pytest.approx(wide, abs=0.05)
        assert page.get_height() * 25.4 / 72 == pytest.approx(high, abs=0.05)
        grey = np.asarray(page.render(scale=254 / 72).to_pil().convert("L"))
        found = find_sheet(grey, EXACT)
        assert found.corners == 80 and found.residual_mm < 0.05
        assert found.px_per_mm == pytest.approx(10.0, rel=1e-3)
        left = int((wide - 180) * 5) - 10  # of the pattern, which is 180 mm wide and begins 28 mm down
        assert _dark_run(grey[2_500:, :], axis=1) == pytest.approx(1400, abs=2)  # the line across: 140 mm
        assert _dark_run(grey[:, :left], axis=0) == pytest.approx(1400, abs=2)
    assert sheet_pdf("A4") == sheet_pdf("A4")
    with pytest.raises(InvalidInput, match="expected A4 or Letter"):
        sheet_pdf("A5")


def _dark_run(grey: NDArray[np.uint8], axis: int) -> int:
    """The longest unbroken dark line along the axis."""
    dark = grey < 128 if axis == 1 else (grey < 128).T
    best = 0
    for row in dark:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
        best = max(best, int((edges[1::2] - edges[::2]).max(initial=0)))
    return best


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">L", len(data)) + kind + data + struct.pack(">L", zlib.crc32(kind + data))


def of_size(wide: int, high: int) -> bytes:
    """A PNG (ISO/IEC 15948) that says that it has this size, a few dozen bytes long."""
    head = chunk(b"IHDR", struct.pack(">LLBBBBB", wide, high, 8, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(b"\0" * 10)) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (of_size(31_623, 31_623), "at most 64,000,000"),
        (of_size(8_000, 8_000), "cannot be read as one"),
        (of_size(300, 200), "send the photo itself, not a small copy"),
        (b"\xff\xd8\xff" + b"no photo at all" * 9, "cannot be read as one"),
        (b"GIF89a" + b"\0" * 40, "expected a JPEG, PNG or WebP photo"),
        (b"%PDF-1.7 no photo", "expected a JPEG, PNG or WebP photo"),
        (b"", "expected 1 to 25,000,000"),
    ],
)
def test_what_is_no_photo_is_refused_in_a_child_with_clear_words(content: bytes, words: str) -> None:
    with pytest.raises(LayshaftError, match=words):
        read_photo(content, EXACT)


def test_a_photo_is_read_in_a_child_upright_and_comes_back_whole(
    bell_grey: NDArray[np.uint8], bell_photo: bytes
) -> None:
    found = read_photo(bell_photo, EXACT)

    assert len(found.holes) == len(BELL) and found.view.startswith(b"\xff\xd8\xff")
    assert found_of(found_as_json(found), found.view) == found
    lying = Image.fromarray(bell_grey).rotate(90, expand=True)  # as a camera held upright writes it
    made = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF orientation (CIPA DC-008): turn by 90 degrees clockwise
    lying.save(made, "JPEG", exif=exif, quality=92)
    assert decoded(made.getvalue()).shape == bell_grey.shape
    assert BOUNDS.memory_bytes <= 1 << 30


def test_without_the_library_every_door_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "cv2", None)
    with pytest.raises(InvalidInput, match="needs the package opencv-python-headless.*pip install"):
        read_photo(b"\xff\xd8\xff", EXACT)
    with pytest.raises(InvalidInput, match="can be solved by hand without it"):
        sheet_pdf("A4")
    assert "layshaft[photo]" in MISSING


def test_the_renderer_itself_puts_a_corner_where_the_library_projects_it() -> None:
    """The drawn camera against `cv2.projectPoints`, which the renderer does not use."""
    wanted = Drawn(size=(1000, 750), tilt_deg=12.0, distortion=(0.05, -0.02, 1e-4, -2e-4), sheet_at=(20.0, -10.0))
    from tests.photo.drawn import _Camera

    camera = _Camera(wanted, np.random.default_rng(3))
    x, y = camera.plane()
    row, column = 300, 611
    turn, _ = cv2.Rodrigues(camera.turn)
    seen, _ = cv2.projectPoints(np.array([[x[row, column], y[row, column], 0.0]]), turn, camera.place, camera.matrix,
                                camera.bent)  # fmt: skip
    assert seen.ravel() == pytest.approx([column, row], abs=0.02)

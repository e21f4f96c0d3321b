"""Files that a command writes are whole or are not there, and what stood at their place stays until then."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from graph.cli.main import main
from graph.cli.out_files import asked_file, write_file, written_whole
from graph.errors import InvalidInput, StoreProblem


def test_a_file_that_cannot_be_finished_leaves_what_was_there(tmp_path: Path) -> None:
    place = tmp_path / "estimate.pdf"
    place.write_bytes(b"the one before")

    with pytest.raises(StoreProblem, match="no space left"):
        _half_written(place)

    assert place.read_bytes() == b"the one before"
    assert os.listdir(tmp_path) == ["estimate.pdf"]


def _half_written(place: Path) -> None:
    with written_whole(place) as out:
        out.write(b"half of it")
        raise OSError(28, "No space left on device", str(place))


def test_a_link_and_its_rights_are_kept(tmp_path: Path) -> None:
    real = tmp_path / "real.csv"
    real.write_text("old")
    real.chmod(0o640)
    (tmp_path / "link.csv").symlink_to(real)

    write_file(tmp_path / "link.csv", "new")

    assert real.read_text() == "new" and real.stat().st_mode & 0o777 == 0o640
    assert (tmp_path / "link.csv").is_symlink()


def test_a_device_is_written_to_as_it_stands() -> None:
    write_file(Path(os.devnull), "gone")

    assert not Path(os.devnull).is_file()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_device_is_told() -> None:
    with pytest.raises(StoreProblem, match="no space left"):
        write_file(Path("/dev/full"), "x" * 100_000)


@pytest.mark.parametrize("name", ["drawing", "drawing.pdf", "drawing.svg.bak"])
def test_another_ending_is_refused_before_anything_is_worked_out(name: str) -> None:
    with pytest.raises(InvalidInput, match=r"ending in \.svg"):
        asked_file(name, (".svg",))


def test_the_drawn_section_is_no_pdf_and_a_missing_folder_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pair = ["section", "tansy-5", "pipit-16", "--out"]

    assert main([*pair, str(tmp_path / "cut.pdf")]) == 2
    assert main([*pair, str(tmp_path / "nowhere" / "cut.svg")]) == 2

    said = capsys.readouterr().err
    assert "expected a name ending in .svg" in said
    assert f"no such file or folder: {tmp_path / 'nowhere'}" in said and "Errno" not in said
    assert os.listdir(tmp_path) == []

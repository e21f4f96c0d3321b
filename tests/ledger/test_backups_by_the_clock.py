"""Backups on a schedule: each proven by restoring it, old ones going only after that, failures told and outlived."""

from __future__ import annotations

import errno
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from graph.ledger import schedule
from graph.ledger.book import Ledger
from graph.ledger.care import restore
from graph.ledger.database import sqlite_url
from graph.ledger.keeper import LedgerKeeper
from graph.ledger.record import Draft
from graph.ledger.schedule import BackupPlan, list_backups, make_backup, read_state, try_backup
from graph.ledger.verify import parse_checkpoint
from tests.ledger.disks import Disk

START = datetime(2026, 3, 1, 12, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture
def plan(tmp_path: Path) -> BackupPlan:
    return BackupPlan(tmp_path / "backups", hours=24, keep=3)


def names(plan: BackupPlan) -> list[str]:
    return [path.name[7:15] for path in list_backups(plan.folder)]


def test_the_last_ones_are_kept_and_each_can_be_restored(any_ledger: Ledger, plan: BackupPlan, tmp_path: Path) -> None:
    for day in range(5):
        any_ledger.append(Draft(text=f"day {day}"))
        state = make_backup(any_ledger, plan, START + day * DAY)

    assert names(plan) == ["20260303", "20260304", "20260305"]
    assert sorted(path.name for path in plan.folder.iterdir()) == [path.name for path in list_backups(plan.folder)]
    assert parse_checkpoint(state.checkpoint).position == 5
    assert restore(plan.folder / state.file, sqlite_url(tmp_path / "again.db")).checkpoint.position == 5


def test_no_old_one_goes_before_the_new_one_was_restored(
    ledger: Ledger, plan: BackupPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day in range(3):
        state = make_backup(ledger, plan, START + day * DAY)
    before = names(plan)

    def refused(*_: object) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(schedule, "restore", refused)
    after = try_backup(ledger, plan, state, START + 3 * DAY)

    assert "Input/output error" in after.failure
    assert (after.file, after.words) == (state.file, "failed")
    assert names(plan) == before
    assert len(list(plan.folder.iterdir())) == 3


def test_a_full_disk_is_told_costs_no_backup_and_heals(ledger: Ledger, small_disk: Disk) -> None:
    plan = BackupPlan(small_disk.path / "backups", 24, 1)
    state = make_backup(ledger, plan, START)
    small_disk.fill()

    failed = try_backup(ledger, plan, state, START + DAY)
    assert "is full" in failed.failure
    assert names(plan) == ["20260301"]

    small_disk.free()
    assert try_backup(ledger, plan, failed, START + DAY).words == "good"
    assert names(plan) == ["20260302"]


def test_a_folder_that_can_only_be_read_is_told(ledger: Ledger, small_disk: Disk) -> None:
    plan = BackupPlan(small_disk.path / "backups", 24, 1)
    state = make_backup(ledger, plan, START)
    small_disk.protect()

    assert "Read-only" in try_backup(ledger, plan, state, START + DAY).failure
    assert names(plan) == ["20260301"]


def test_of_two_keepers_on_one_folder_one_works_and_the_other_takes_over(
    ledger: Ledger, plan: BackupPlan, tmp_path: Path
) -> None:
    first, second = (LedgerKeeper(ledger, tmp_path / "work", plan) for _ in range(2))
    first.look(START)
    second.look(START + DAY)
    assert names(plan) == ["20260301"]
    assert second.state() == first.state() == read_state(tmp_path / "work" / "backups.json")

    first.close()
    second.look(START + DAY)
    second.close()

    assert names(plan) == ["20260301", "20260302"]


def test_it_works_by_the_clock_also_one_that_jumps(ledger: Ledger, plan: BackupPlan, tmp_path: Path) -> None:
    keeper = LedgerKeeper(ledger, tmp_path / "work", plan)
    hours = timedelta(hours=1)
    for when in (START, START + 23 * hours, START + 24 * hours, START - 365 * DAY, START - 365 * DAY + hours):
        keeper.look(when)
    keeper.close()

    assert names(plan) == ["20250301", "20260301", "20260302"]


def test_the_newest_stays_though_the_clock_was_set_back(ledger: Ledger, plan: BackupPlan) -> None:
    for when in (START, START + DAY, START + 2 * DAY, START - 365 * DAY):
        make_backup(ledger, plan, when)

    assert "20250301" in names(plan)
    assert len(names(plan)) == 3


def test_after_a_failure_it_is_tried_again_soon_and_the_service_goes_on(
    ledger: Ledger, tmp_path: Path
) -> None:  # fmt: skip
    (tmp_path / "file").write_text("in the way")
    keeper = LedgerKeeper(ledger, tmp_path / "work", BackupPlan(tmp_path / "file", 24, 3))
    keeper.look(START)
    assert "cannot be written" in keeper.state().failure

    (tmp_path / "file").unlink()
    keeper.look(START + timedelta(minutes=5))
    assert keeper.state().words == "failed"
    keeper.look(START + timedelta(minutes=11))
    keeper.close()

    assert keeper.state().words == "good"


def test_what_a_killed_backup_left_is_cleared_and_never_counted(ledger: Ledger, plan: BackupPlan) -> None:
    make_backup(ledger, plan, START)
    (plan.folder / "ledger-20260301T130000Z.db.unfinished").write_bytes(b"half")
    (plan.folder / ".trial-x").mkdir()
    (plan.folder / "somebody-elses.db").write_bytes(b"not ours")

    make_backup(ledger, plan, START + DAY)

    assert sorted(path.name[:9] for path in plan.folder.iterdir()) == ["ledger-20", "ledger-20", "somebody-"]

"""GET /keeping: where the ledger stands, as a code to be kept outside, and how its backups fare."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request, Response

from api.notebook import UsesNotebook
from api.pages.base import page, page_router
from api.roles import needs
from graph.ledger.checkpoint import take_checkpoint
from graph.ledger.disk import sized
from graph.ledger.keeper import LedgerKeeper
from graph.ledger.schedule import list_backups

router = page_router()


@dataclass(frozen=True, slots=True)
class BackupsView:
    """`folder`; every so many `hours`; how many are kept at most (`keep`); their names (`kept`), newest first.

    `file`, `good_at`, `size`, `checkpoint`: of the last good one; `failed_at`, `failure`: of a failure since.
    """

    folder: str
    hours: int
    keep: int
    kept: tuple[str, ...]
    file: str
    good_at: str
    size: str
    checkpoint: str
    failed_at: str
    failure: str


@dataclass(frozen=True, slots=True)
class KeepingView:
    """The checkpoint: `position`, `hash`, `at`, its line as `text`.

    `outside`: the file to which it is appended, and `outside_fault`: why that failed; `backups`: None where none are
    made by the clock.
    """

    position: str
    hash: str
    at: str
    text: str
    outside: str
    outside_fault: str
    backups: BackupsView | None


@needs("manage")
@router.get("/keeping")
def show_keeping(request: Request, notebook: UsesNotebook) -> Response:
    """The checkpoint and the state of the backups."""
    taken = take_checkpoint(notebook.ledger)
    keeper: LedgerKeeper | None = getattr(request.app.state, "keeper", None)
    outside = "" if keeper is None or keeper.checkpoints is None else str(keeper.checkpoints)
    fault = "" if keeper is None else keeper.checkpoint_fault
    view = KeepingView(
        f"{taken.checkpoint.position:,}", taken.checkpoint.hash, taken.at, taken.text, outside, fault, _backups(keeper)
    )
    return page(request, "keeping.html", view, title="How the notes are kept")


def _backups(keeper: LedgerKeeper | None) -> BackupsView | None:
    if keeper is None or keeper.plan is None:
        return None
    plan, state = keeper.plan, keeper.state()
    kept = tuple(path.name for path in reversed(list_backups(plan.folder)))
    return BackupsView(
        str(plan.folder), plan.hours, plan.keep, kept, state.file, state.good_at, sized(state.size), state.checkpoint,
        state.failed_at, state.failure,
    )  # fmt: skip

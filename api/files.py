"""Files in and out of a request: a body kept on the disk while it comes in, an open file as an answer, and turns.

Neither is ever whole in this process's memory, and no file has a name: when a client hangs up or the service is
killed, nothing is left behind.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from typing import IO, TypeVar

import anyio
import anyio.to_thread
from fastapi import Request, Response
from starlette.types import Receive, Scope, Send

from graph.errors import Busy, StoreProblem
from graph.guarded.reader import temporary_file

PART_BYTES = 1 << 20
FILES_AT_ONCE, FILES_WAIT_S = 2, 20.0
Made = TypeVar("Made")


@asynccontextmanager
async def uploaded(request: Request) -> AsyncIterator[IO[bytes]]:
    """The request's body as an open file, closed at the end."""
    with temporary_file() as file:
        await keep_body(request, file)
        yield file


async def keep_body(request: Request, file: IO[bytes]) -> None:
    """Writes the body to the file. Raises StoreProblem where there is no room for it."""
    waiting: list[bytes] = []
    try:
        async for part in request.stream():
            waiting.append(part)
            if sum(map(len, waiting)) >= PART_BYTES:
                await anyio.to_thread.run_sync(file.writelines, waiting)
                waiting = []
        file.writelines(waiting)
        file.flush()
    except OSError as error:
        raise StoreProblem(f"the temporary folder {tempfile.gettempdir()} took no more: {error}") from error


class FileAnswer(Response):
    """An open file from its beginning, sent part by part, closed whatever happens."""

    def __init__(self, file: IO[bytes], media_type: str, headers: Mapping[str, str] | None = None):
        file.flush()
        file.seek(0)
        size = os.fstat(file.fileno()).st_size
        super().__init__(None, media_type=media_type, headers={**(headers or {}), "content-length": str(size)})
        self.file = file

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        with self.file:
            await send({"type": "http.response.start", "status": self.status_code, "headers": self.raw_headers})
            while part := await anyio.to_thread.run_sync(self.file.read, PART_BYTES // 4):
                await send({"type": "http.response.body", "body": part, "more_body": True})
            await send({"type": "http.response.body", "body": b""})


class Turns:
    """Work that is heavy elsewhere: few at once, and who waits for a turn holds no thread that others need.

    There are as many threads as turns, so that whoever has a turn waits for no thread either.
    """

    def __init__(self, at_once: int, wait_s: float, what: str):
        self.at_once, self.wait_s, self.what = at_once, wait_s, what
        self._turns, self._threads = (anyio.CapacityLimiter(at_once) for _ in range(2))

    async def run(self, work: Callable[[], Made]) -> Made:
        """The work, in a thread, when its turn comes. Raises Busy where none comes in time."""
        holder = object()
        try:
            with anyio.fail_after(self.wait_s):
                await self._turns.acquire_on_behalf_of(holder)
        except TimeoutError:
            raise Busy(f"{self.at_once} {self.what} are at work; none ended within {self.wait_s:g} s") from None
        try:
            return await anyio.to_thread.run_sync(work, limiter=self._threads)
        finally:
            self._turns.release_on_behalf_of(holder)


async def read_in_turn(request: Request, work: Callable[[], Made]) -> Made:
    """Work on a file that was handed in, in its turn among all such."""
    state = request.app.state
    if not hasattr(state, "file_turns"):
        state.file_turns = Turns(FILES_AT_ONCE, FILES_WAIT_S, "files")
    turns: Turns = state.file_turns
    return await turns.run(work)

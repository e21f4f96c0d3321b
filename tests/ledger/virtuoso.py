"""A Virtuoso server of Debian's for the tests, in a folder and on ports of its own; nothing of the system's is used."""

from __future__ import annotations

import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

INI = """[Database]
DatabaseFile = {folder}/virtuoso.db
ErrorLogFile = {folder}/virtuoso.log
LockFile = {folder}/virtuoso.lck
TransactionFile = {folder}/virtuoso.trx
xa_persistent_file = {folder}/virtuoso.pxa
FileExtend = 200
TempStorage = TempDatabase
[TempDatabase]
DatabaseFile = {folder}/temp.db
TransactionFile = {folder}/temp.trx
[Parameters]
ServerPort = {sql_port}
DisableUnixSocket = 1
DirsAllowed = {folder}
NumberOfBuffers = 2000
MaxDirtyBuffers = 1200
DefaultIsolation = 4
[HTTPServer]
ServerPort = {http_port}
ServerRoot = {folder}
ServerThreads = 5
[SPARQL]
ResultSetMaxRows = 100000
"""


@contextmanager
def virtuoso(folder: Path) -> Iterator[str]:
    """Its HTTP address, or a skipped test where it is not installed."""
    if shutil.which("virtuoso-t") is None or shutil.which("isql-vt") is None:
        pytest.skip("no Virtuoso here (Debian: apt-get install virtuoso-opensource-7)")
    with socket.socket() as first, socket.socket() as second:
        for probe in (first, second):
            probe.bind(("127.0.0.1", 0))
        sql_port, http_port = first.getsockname()[1], second.getsockname()[1]
    ini = folder / "virtuoso.ini"
    ini.write_text(INI.format(folder=folder, sql_port=sql_port, http_port=f"127.0.0.1:{http_port}"))
    process = subprocess.Popen(["virtuoso-t", "+foreground", "+wait", "+configfile", str(ini)], cwd=folder, stderr=-3)
    try:
        _when_up(f"127.0.0.1:{sql_port}", process)
        yield f"http://127.0.0.1:{http_port}"
    finally:
        process.kill()
        process.wait()


def _when_up(server: str, process: subprocess.Popen[bytes]) -> None:
    for _ in range(240):
        done = subprocess.run(["isql-vt", server, "dba", "dba", "exec=SELECT 1;"], check=False, capture_output=True)
        if done.returncode == 0 and b"Error" not in done.stdout + done.stderr:
            return
        assert process.poll() is None, "Virtuoso did not start"
        time.sleep(0.25)
    raise AssertionError("Virtuoso does not answer")

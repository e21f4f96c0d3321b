"""A real PostgreSQL server for the tests: Debian's programs, in a folder of its own, never as root.

Skips with the reason where the programs are not installed (Debian: `apt-get install postgresql`).
"""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
import uuid
from pathlib import Path

import psycopg
import pytest


def find_programs() -> Path | None:
    """The folder of `initdb` and `pg_ctl`: on the path, or where Debian keeps the newest version."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/pg_ctl"),
        key=lambda path: float(path.parts[-3]),
    )
    on_path = shutil.which("pg_ctl")
    return found[-1].parent if found else Path(on_path).parent if on_path else None


class Postgres:
    """One server on loopback; `new_url` makes an empty database."""

    def __init__(self, programs: Path):
        self.programs = programs
        self.folder = Path(tempfile.mkdtemp(prefix="layshaft-pg-"))
        self.as_user: list[str] = []
        if os.getuid() == 0:  # the server refuses to run as root
            user = pwd.getpwnam("postgres")
            os.chown(self.folder, user.pw_uid, user.pw_gid)
            self.as_user = ["runuser", "-u", "postgres", "--"]
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.run(
            "initdb",
            "-D",
            "data",
            "-U",
            "tests",
            "-A",
            "trust",
            "-E",
            "UTF8",
            "--locale=C",
        )
        self.start()

    def run(self, program: str, *arguments: str) -> None:
        """Runs one of the server's programs in its folder; raises with its output if it fails."""
        command = [*self.as_user, str(self.programs / program), *arguments]
        done = subprocess.run(command, check=False, cwd=self.folder, capture_output=True, text=True, timeout=60)
        if done.returncode:
            raise RuntimeError(f"{program}: {done.stdout}{done.stderr}")

    def start(self) -> None:
        """Starts the server and waits until it answers."""
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={self.folder}"
        self.run("pg_ctl", "-D", "data", "-w", "-l", "log", "-o", options, "start")

    def kill(self) -> None:
        """Stops it as a crash would: no checkpoint, no goodbye."""
        self.run("pg_ctl", "-D", "data", "-m", "immediate", "stop")

    def new_url(self, within: Path | None = None) -> str:
        """The URL of an empty database. `within`: the folder that its files are kept in, instead of the server's."""
        name, place = f"ledger_{uuid.uuid4().hex}", ""
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            if within is not None:
                if os.getuid() == 0:
                    os.chown(within, pwd.getpwnam("postgres").pw_uid, -1)
                connection.execute(f"CREATE TABLESPACE space_{name} LOCATION '{within}'")
                place = f" TABLESPACE space_{name}"
            connection.execute(f"CREATE DATABASE {name}{place}")
        return self.url(name)

    def drop(self, name: str | None) -> None:
        """Removes a database that was made within a folder."""
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            connection.execute(f"DROP DATABASE {name}")
            connection.execute(f"DROP TABLESPACE space_{name}")

    def url(self, name: str) -> str:
        """The URL of a database on this server."""
        return f"postgresql://tests@127.0.0.1:{self.port}/{name}"

    def remove(self) -> None:
        """Stops the server and removes its folder."""
        self.kill()
        shutil.rmtree(self.folder, ignore_errors=True)


def start_or_skip() -> Postgres:
    """A running server, or a skipped test that says what is missing."""
    programs = find_programs()
    if programs is None:
        pytest.skip("no PostgreSQL server programs here (Debian: apt-get install postgresql)")
    if os.getuid() == 0 and not any(user.pw_name == "postgres" for user in pwd.getpwall()):
        pytest.skip("PostgreSQL refuses to run as root and there is no user named postgres")
    return Postgres(programs)

"""A real PostgreSQL server on the loopback, in a folder of its own, as a user who is not root."""

import contextlib
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg
from tests.sources.broker import free_port

USER, PASSWORD = "keeper", "hunter2"


@dataclass
class RunningDatabase:
    """A server that runs, and its one user."""

    port: int
    folder: Path
    process: subprocess.Popen[bytes]

    @property
    def url(self) -> str:
        """Its address, without a password."""
        return f"postgresql://{USER}@127.0.0.1:{self.port}/postgres"

    def do(self, *statements: str) -> None:
        """Runs statements that change things."""
        with psycopg.connect(self.url, password=PASSWORD, autocommit=True) as connection:
            for statement in statements:
                connection.execute(statement.encode())

    def one(self, query: str) -> Any:
        """The first value that a query gives."""
        with psycopg.connect(self.url, password=PASSWORD) as connection:
            row = connection.execute(query.encode()).fetchone()
        return None if row is None else row[0]

    def stop(self) -> None:
        """Ends it at once, whoever is connected (a fast shutdown)."""
        self.process.send_signal(signal.SIGINT)
        self.process.wait(20)

    def start(self) -> None:
        """Begins it again where it was, and waits until it answers."""
        self.process = _begun(self.folder, self.port)
        _await(self, self.folder / "log")


def _tool(name: str) -> str:
    """A program of PostgreSQL; Debian keeps them out of the way."""
    newest = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), reverse=True)
    found = str(newest[0]) if newest else shutil.which(name)
    assert found, f"{name} is not installed: run scripts/system_packages.sh"
    return found


def _owner() -> dict[str, Any]:
    """As whom to run it: PostgreSQL refuses root."""
    if os.geteuid() != 0:
        return {}
    who = pwd.getpwnam("postgres")
    return {"user": who.pw_uid, "group": who.pw_gid, "extra_groups": []}


def _run(arguments: Sequence[str], folder: Path) -> None:
    done = subprocess.run(arguments, cwd=folder, capture_output=True, check=False, **_owner())
    assert done.returncode == 0, done.stderr.decode()


@contextlib.contextmanager
def database() -> Iterator[RunningDatabase]:
    """A server with an empty database; takes a second or two to begin."""
    # Its user must be able to reach the folder, which that of pytest, closed to all but its owner, is not.
    folder = Path(tempfile.mkdtemp(prefix="wallbill-database-"))
    port = free_port()
    try:
        (folder / "password").write_text(PASSWORD, encoding="ascii")
        for path in (folder, folder / "password"):
            if owner := _owner():
                os.chown(path, owner["user"], owner["group"])
        where = ["-D", str(folder / "data")]
        _run(
            [_tool("initdb"), *where, "-U", USER, "--auth=scram-sha-256", f"--pwfile={folder / 'password'}",
             "--no-sync", "--encoding=UTF8", "--locale=C"],
            folder,
        )  # fmt: skip
        running = RunningDatabase(port, folder, _begun(folder, port))
        try:
            _await(running, folder / "log")
            yield running
        finally:
            running.stop()
    finally:
        shutil.rmtree(folder)


def _begun(folder: Path, port: int) -> subprocess.Popen[bytes]:
    settings = [
        f"port={port}",
        "listen_addresses=127.0.0.1",
        f"unix_socket_directories={folder}",
        "fsync=off",
    ]
    with (folder / "log").open("ab") as log:
        return subprocess.Popen(
            [_tool("postgres"), "-D", str(folder / "data"), *(p for one in settings for p in ("-c", one))],
            cwd=folder, stdout=log, stderr=log, **_owner(),
        )  # fmt: skip


def _await(running: RunningDatabase, log: Path) -> None:
    for _ in range(400):
        with contextlib.suppress(psycopg.OperationalError):
            running.do("SELECT 1")
            return
        assert running.process.poll() is None, log.read_text(encoding="utf-8")
        time.sleep(0.05)
    raise AssertionError(f"PostgreSQL does not answer: {log.read_text(encoding='utf-8')}")

"""No process outlives the command, and no half file is ever seen under its name."""

import os
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PIL import Image

from tests.end_to_end.conftest import DemoPress
from tests.end_to_end.running import AT, PROGRAM, environment, files_in
from tests.end_to_end.test_bad_sheets import FLOAT
from tests.end_to_end.walls import display, wall

SLOW_OWN = (
    "import subprocess, sys, time\n"
    "def slow():\n"
    "    subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(60)'])\n"
    "    time.sleep(60)\n"
)


def marked(mark: str) -> set[int]:
    """Live processes whose environment holds this mark: the command's own, however they were orphaned."""
    found = set()
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            try:
                state = (
                    (entry / "stat")
                    .read_text(encoding="utf-8", errors="replace")
                    .rsplit(")", 1)[1]
                    .split()[0]
                )
                if state != "Z" and mark.encode() in (entry / "environ").read_bytes():
                    found.add(int(entry.name))
            except OSError:
                continue
    return found


def gone(mark: str, *, within_s: float) -> bool:
    until_s = time.monotonic() + within_s
    while marked(mark):
        if time.monotonic() > until_s:
            return False
        time.sleep(0.05)
    return True


@contextmanager
def started(folder: Path, mark: str, cache: Path) -> Iterator[subprocess.Popen[bytes]]:
    """The command pressing ``folder``, every process of it with ``mark`` in its environment; killed in the end."""
    process = subprocess.Popen(
        [str(PROGRAM), "press", str(folder), "--offline", "--at", AT, "--out", str(folder.parent / "out")],
        env={**environment(cache), "HOME": mark}, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        start_new_session=True,
    )  # fmt: skip
    try:
        yield process
    finally:
        process.kill()
        process.communicate()
        for pid in marked(mark):
            os.kill(pid, signal.SIGKILL)


def wait_for_worker(process: subprocess.Popen[bytes], mark: str) -> None:
    """Until the command has a process beside itself, and has had time to give it something to do."""
    until_s = time.monotonic() + 20
    while len(marked(mark)) < 2:
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < until_s
        time.sleep(0.02)
    time.sleep(0.5)


def test_no_process_is_left_after_a_press(demo: DemoPress, tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    with started(folder, f"{tmp_path}/mark", demo.cache) as process:
        wait_s = time.monotonic() + 20
        while len(marked(f"{tmp_path}/mark")) < 2 and process.poll() is None:
            assert time.monotonic() < wait_s
        process.communicate(timeout=30)
        assert process.returncode == 0
        assert gone(f"{tmp_path}/mark", within_s=1)


@pytest.mark.parametrize(
    ("busy", "sent", "status"),
    [
        ("engine", signal.SIGINT, 130),
        (
            "engine",
            signal.SIGTERM,
            143,
        ),  # that its worker ends after SIGKILL is tested in tests/press/test_limits.py
        ("own function", signal.SIGINT, 130),
        ("own function", signal.SIGTERM, 143),
        ("own function", signal.SIGKILL, -9),
    ],
)
def test_no_process_is_left_when_the_command_is_ended(
    demo: DemoPress, tmp_path: Path, *, sent: signal.Signals, status: int, busy: str
) -> None:
    """While a page is never done with, or a function of the wall sleeps (and has started a process of its own)."""
    own = '[sources.own]\nkind = "own"\nfunction = "slow:slow"' if busy == "own function" else ""
    sheet = "{{ facts.own.value }}" if own else FLOAT
    folder = wall(tmp_path / "wall", own, sheets={"porch.html": sheet})
    (folder / "facts").mkdir()
    (folder / "facts" / "slow.py").write_text(SLOW_OWN, encoding="utf-8")
    mark = f"{tmp_path}/mark"
    with started(folder, mark, demo.cache) as process:
        wait_for_worker(process, mark)
        os.kill(process.pid, sent)
        began_s = time.monotonic()
        _, said = process.communicate(timeout=20)
        assert time.monotonic() - began_s < 3
        assert process.returncode == status
        assert b"Traceback" not in said
        if sent != signal.SIGKILL:
            assert said.decode().strip() == {130: "interrupted", 143: "ended"}[status]
        assert gone(mark, within_s=2)


@pytest.mark.parametrize(("sent", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_machine_that_never_answers_is_not_waited_for(
    demo: DemoPress, tmp_path: Path, sent: signal.Signals, status: int
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(20)
        address = f"http://127.0.0.1:{server.getsockname()[1]}/club.ics"
        source = f'[sources.club]\nkind = "agenda"\nurl = "{address}"\nprivate_hosts = ["127.0.0.1"]'
        folder = wall(tmp_path / "wall", source)
        with subprocess.Popen(
            [str(PROGRAM), "facts", str(folder), "club"],
            env=environment(demo.cache), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        ) as process:  # fmt: skip
            asked, _ = server.accept()
            with asked:
                asked.recv(1)
                os.kill(process.pid, sent)
                began_s = time.monotonic()
                out, said = process.communicate(timeout=30)
    assert time.monotonic() - began_s < 3
    assert (process.returncode, out) == (status, b"")
    assert said.decode().split() == [{130: "interrupted", 143: "ended"}[status]]


def test_a_kill_in_the_middle_leaves_no_half_file(demo: DemoPress, tmp_path: Path) -> None:
    """The example wall is pressed over its own files and killed at several moments."""
    out = tmp_path / "out"
    folder = wall(tmp_path / "wall", "".join(display(f"d{i}", sheet="porch") for i in range(40)))
    (folder / "sheets" / "porch.html").write_text(
        "<p>{{ display.name }} {{ now|time }}</p>", encoding="utf-8"
    )
    seen: set[str] = set()
    for wait_s in (0.0, 0.05, 0.2):
        mark = f"{tmp_path}/mark"
        with started(folder, mark, demo.cache) as process:
            until_s = time.monotonic() + 20
            while not list(out.glob("d*.json")) and time.monotonic() < until_s:
                time.sleep(0.002)
            time.sleep(wait_s)
            process.kill()
            process.communicate()
        for name, data in files_in(out).items():
            if name.startswith("."):
                continue  # written beside and never moved into place
            seen.add(name)
            if name.endswith(".png"):
                with Image.open(out / name) as image:
                    image.load()
            elif name.endswith(".plates"):
                assert len(data) == 2 * (296 // 8) * 128
            elif name.endswith(".json"):
                assert data.endswith(b"}\n")
    assert any(name.endswith(".json") for name in seen)

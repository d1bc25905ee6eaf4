"""What a page may cost: each fault ends the worker, becomes a PressError, and the next page is pressed."""

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from wallbill.errors import PressError
from wallbill.press.model import Engine, Limits, Page
from wallbill.press.shell import open_engine
from wallbill.press.shell_blitz import BlitzEngine
from wallbill.press.shell_chromium import ChromiumEngine

GOOD = Page("<!doctype html><p id=a style='margin:0;height:20px'>good</p>", 160, 100, "good.html")
# Measured with blitz-py 0.5.0: these three hang, overflow the stack, and panic.
HANGING = (
    '<div style="width:300px"><div style="float:left;width:50px;height:50px"></div>' + "word " * 80 + "</div>"
)
DEEP = "<div>" * 30_000 + "x"
GRID = '<div style="display:grid;grid-template-columns:repeat(100000,1fr)"><p>x</p></div>'


@pytest.fixture
def engine() -> Iterator[BlitzEngine]:
    opened = BlitzEngine(limits=Limits(page_s=3.0))
    yield opened
    opened.close()


def works(engine: Engine) -> bool:
    painted = engine.paint(GOOD)
    return painted.rgb.shape == (100, 160, 3) and painted.boxes["a"].height_px == 20


def test_a_page_that_never_ends_is_refused(engine: BlitzEngine) -> None:
    assert works(engine)
    first = engine.pid
    began_s = time.monotonic()
    with pytest.raises(PressError, match="not done within 3 s") as caught:
        engine.paint(Page(HANGING, 400, 300, "hall.html"))
    assert time.monotonic() - began_s < 10
    assert caught.value.where.file == "hall.html"
    assert "float" in caught.value.mend
    assert first is not None
    assert not Path(f"/proc/{first}").exists()
    assert works(engine)
    assert engine.pid != first


def test_deep_nesting_is_refused() -> None:
    engine = BlitzEngine(limits=Limits(page_s=20.0))
    try:
        with pytest.raises(PressError, match=r"SIGSEGV|SIGABRT") as caught:
            engine.boxes(Page(DEEP, 400, 300, "hall.html"))
        assert "nest" in caught.value.mend
        assert works(engine)
    finally:
        engine.close()


def test_a_panic_is_refused(engine: BlitzEngine) -> None:
    with pytest.raises(PressError, match="engine failed on the page") as caught:
        engine.paint(Page(GRID, 400, 300, "hall.html"))
    assert caught.value.where.file == "hall.html"
    assert works(engine)


def test_memory_is_bounded() -> None:
    small = BlitzEngine(limits=Limits(page_s=20.0, memory_mb=500))
    try:
        assert works(small)
        with pytest.raises(PressError, match="engine failed"):
            small.paint(Page("<p>x", 8_000, 7_900, "hall.html"))  # a raster of 253 MB
        assert works(small)
    finally:
        small.close()


def test_an_engine_is_shared_by_threads(engine: BlitzEngine) -> None:
    results: list[bool] = []

    def press() -> None:
        results.extend(works(engine) for _ in range(5))

    threads = [threading.Thread(target=press) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert results == [True] * 20


def test_a_worker_is_replaced_after_its_share() -> None:
    engine = BlitzEngine(limits=Limits(pages=2))
    try:
        pids = []
        for _ in range(4):
            engine.boxes(GOOD)
            pids.append(engine.pid)
        assert pids[0] == pids[1] != pids[2] == pids[3]
    finally:
        engine.close()
        engine.close()  # twice does no harm


def test_a_worker_ends_with_its_parent() -> None:
    """A parent that is killed leaves no process behind, even if the page never ends."""
    code = (
        "from wallbill.press.shell_blitz import BlitzEngine\n"
        "from wallbill.press.model import Limits, Page\nimport os, signal, threading\n"
        "engine = BlitzEngine(limits=Limits(page_s=3.0))\n"
        "engine.boxes(Page('<p>x', 9, 9))\nprint(engine.pid, flush=True)\n"
        "threading.Timer(0.3, lambda: os.kill(os.getpid(), signal.SIGKILL)).start()\n"
        f"engine.boxes(Page({HANGING!r}, 400, 300))\n"
    )
    parent = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    pid = int(parent.stdout)
    until_s = time.monotonic() + 5
    while _alive(pid) and time.monotonic() < until_s:
        time.sleep(0.05)
    assert not _alive(pid)


def _alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def test_the_worker_is_lean() -> None:
    """It must not import what it does not need: measured 33 MB and 8 modules of ours and others at most."""
    code = (
        "import sys; sys.argv = ['w', '1', '1', '1']\nimport wallbill.press.shell_worker\n"
        "heavy = {'numpy', 'PIL', 'fontTools', 'freetype', 'tinycss2', 'lxml', 'playwright', 'asyncio'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_resident_memory_stays_small(engine: BlitzEngine) -> None:
    engine.paint(Page("<p>x" * 200, 800, 480, "hall.html"))
    status = Path(f"/proc/{engine.pid}/status").read_text(encoding="ascii")
    peak_kb = int(status.split("VmHWM:")[1].split()[0])
    assert peak_kb < 150 * 1024


def test_nothing_outside_is_read(engine: BlitzEngine, tmp_path: Path) -> None:
    from PIL import Image  # noqa: PLC0415 - only here

    picture = tmp_path / "black.png"
    Image.new("RGB", (40, 40), "black").save(picture)
    page = Page(
        f"<style>*{{margin:0}}</style><img src='file://{picture}' width=40 height=40>", 40, 40, "hall.html"
    )
    assert (engine.paint(page).rgb == 255).all()


def test_system_fonts_do_not_show(engine: BlitzEngine) -> None:
    """Text in a face that only the machine has looks as text in a face that nobody has."""
    pages = [
        Page(f"<p style='font:20px \"{name}\"'>Quay ☂ 潮", 200, 60, "x")
        for name in ("DejaVu Sans", "No Such")
    ]
    first, second = (engine.paint(page).rgb for page in pages)
    assert (first == second).all()


def test_unknown_engine() -> None:
    with pytest.raises(PressError, match="unknown engine 'letterpress'"):
        open_engine("letterpress")


def test_chromium_refuses_and_goes_on() -> None:
    engine = ChromiumEngine(limits=Limits(page_s=15.0, start_s=60.0))
    slow = '<div style="filter:blur(90px)">' * 40 + "x"  # more than a minute of blurring
    try:
        assert works(engine)
        with pytest.raises(PressError, match="not done within 15 s") as caught:
            engine.paint(Page(slow, 2000, 2000, "hall.html"))
        assert caught.value.where.file == "hall.html"
        assert works(engine)
    finally:
        engine.close()


def test_chromium_refuses_the_lowest_pages(chromium: ChromiumEngine) -> None:
    with pytest.raises(PressError, match="80 px height") as caught:
        chromium.paint(Page("<p>x", 200, 80, "hall.html"))
    assert "blitz" in caught.value.mend


def test_chromium_that_is_not_there_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    engine = ChromiumEngine(limits=Limits())
    with pytest.raises(PressError, match="no Chromium is installed") as caught:
        engine.boxes(GOOD)
    assert "blitz" in caught.value.mend


def test_chromium_leaves_no_process(chromium: ChromiumEngine) -> None:
    before = _browsers()
    engine = ChromiumEngine(limits=Limits(start_s=60.0))
    try:
        engine.boxes(GOOD)
        assert _browsers() - before
    finally:
        engine.close()
    until_s = time.monotonic() + 5
    while _browsers() - before and time.monotonic() < until_s:
        time.sleep(0.05)
    assert not _browsers() - before


def _browsers() -> set[int]:
    """Browsers below this very process: other test processes start and end theirs at the same time."""
    parents: dict[int, int] = {}
    browsers: set[int] = set()
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            try:
                line = (entry / "cmdline").read_bytes()
                parents[int(entry.name)] = int((entry / "stat").read_text().rpartition(")")[2].split()[1])
            except OSError:
                continue
            if b"wallbill-chromium-" in line:
                browsers.add(int(entry.name))
    return {pid for pid in browsers if os.getpid() in _ancestors(pid, parents)}


def _ancestors(pid: int, parents: dict[int, int]) -> list[int]:
    """The processes above one, nearest first."""
    above = []
    while pid in parents:
        pid = parents[pid]
        above.append(pid)
    return above

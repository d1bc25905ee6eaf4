"""The digest of a wall's files: when it changes, when it does not, and files that are being written."""

import os
import shutil
import threading
from pathlib import Path
from typing import Any

import pytest
from tests.wall.conftest import MakeWall

from wallbill.wall.shell import WallWatch, wall_digest
from wallbill.wall.shell_watch import _SETTLED_NS


@pytest.fixture
def folder(make_wall: MakeWall) -> Path:
    found = make_wall()
    for name, text in (
        ("pictures/deep/boat.png", "boat"),
        ("panels/mine.toml", "mine"),
        ("facts/rota.py", "x = 1"),
        ("faces/hand.ttf", "face"),
    ):
        (found / name).parent.mkdir(parents=True, exist_ok=True)
        (found / name).write_text(text, encoding="utf-8")
    return found


def age(folder: Path, seconds_s: int = 10) -> None:
    """Lets files look as if they had been written a while ago; their inodes' change time stays that of now."""
    for path in folder.rglob("*"):
        status = path.stat()
        os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns - seconds_s * 1_000_000_000))


def test_the_same_files_have_the_same_digest_elsewhere(folder: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    age(copy)
    assert wall_digest(folder) == wall_digest(copy) == WallWatch(copy).digest()
    assert len(wall_digest(folder)) == 64


@pytest.mark.parametrize(
    "name", ["wall.toml", "sheets/hall.html", "pictures/deep/boat.png", "panels/mine.toml", "facts/rota.py", "faces/hand.ttf"]
)  # fmt: skip
def test_each_kind_of_file_counts(folder: Path, name: str) -> None:
    watch = WallWatch(folder)
    before = watch.digest()
    whole = (folder / name).read_bytes()
    (folder / name).write_bytes(b"other" + whole)
    assert watch.digest() != before
    (folder / name).write_bytes(whole)
    assert watch.digest() == before
    (folder / name).rename(folder / f"{name}.new")
    assert watch.digest() != before


@pytest.mark.parametrize(
    "name",
    [
        "secrets.toml",
        ".wallbill/store.sqlite",
        "payloads/forecast.json",
        "notes.txt",
        "facts/notes.txt",
        "facts/__pycache__/rota.py",
        "sheets/.hall.html.swp",
        "sheets/hall.html~",
        "pictures/.thumbs/boat.png",
    ],
)
def test_what_does_not_count(folder: Path, name: str) -> None:
    before = wall_digest(folder)
    (folder / name).parent.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text("x", encoding="utf-8")
    assert wall_digest(folder) == before


def test_a_name_and_its_contents_cannot_be_taken_for_one_another(folder: Path) -> None:
    (folder / "sheets" / "a").write_text("b", encoding="utf-8")
    before = wall_digest(folder)
    (folder / "sheets" / "a").unlink()
    (folder / "sheets" / "b").write_text("a", encoding="utf-8")
    assert wall_digest(folder) != before


def test_a_change_within_the_clocks_grain_is_seen(folder: Path) -> None:
    """A file of the same size, written again at once with its old time of change, is read again."""
    sheet = folder / "sheets" / "hall.html"
    watch = WallWatch(folder)
    before, status = watch.digest(), sheet.stat()
    with sheet.open("r+b") as file:
        file.write(b"<b>")
    os.utime(sheet, ns=(status.st_atime_ns, status.st_mtime_ns))
    assert watch.digest() != before


def test_files_that_stay_are_not_read_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    watch = WallWatch(folder)
    now_ns = max(path.stat().st_ctime_ns for path in folder.rglob("*"))
    monkeypatch.setattr("time.time_ns", lambda: now_ns + _SETTLED_NS + 1)
    before = watch.digest()
    opened: list[Path] = []
    plain = Path.open

    def noted(path: Path, *how: Any, **more: Any) -> Any:
        opened.append(path)
        return plain(path, *how, **more)

    monkeypatch.setattr(Path, "open", noted)
    assert watch.digest() == before
    assert opened == []
    (folder / "sheets" / "hall.html").write_text("<b>", encoding="utf-8")
    opened.clear()
    assert watch.digest() != before
    assert opened == [folder / "sheets" / "hall.html"]


def test_what_cannot_be_read_does_no_harm(folder: Path) -> None:
    watch = WallWatch(folder)
    before = watch.digest()
    (folder / "sheets" / "gone.html").symlink_to(folder / "nowhere")
    os.mkfifo(folder / "sheets" / "pipe.html")
    (folder / "sheets" / "folder.html").mkdir()
    assert watch.digest() == before
    (folder / "sheets" / "ring.html").symlink_to("ring.html")  # too many links: there, but not to be read
    assert watch.digest() != before
    shutil.rmtree(folder / "pictures")
    assert watch.digest() != before
    assert len(wall_digest(folder / "no-such-wall")) == 64


def test_files_that_come_and_go_while_they_are_read(folder: Path) -> None:
    """A writer replaces, cuts short and takes away a large file all the time; each digest is asked for meanwhile."""
    path = folder / "pictures" / "large.png"
    whole = b"x" * 3_000_000
    path.write_bytes(whole)
    settled = wall_digest(folder)
    stop = threading.Event()

    def write() -> None:
        while not stop.is_set():
            path.write_bytes(whole[:100])
            path.unlink()
            path.write_bytes(whole)

    writer = threading.Thread(target=write)
    watch = WallWatch(folder)
    writer.start()
    try:
        seen = {watch.digest() for _ in range(40)}
    finally:
        stop.set()
        writer.join()
    assert seen
    path.write_bytes(whole)
    assert watch.digest() == settled

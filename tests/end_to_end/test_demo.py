"""The example wall: pressed with no network, each file true to the panel and to its record."""

import hashlib
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.end_to_end.conftest import DemoPress, guard
from tests.end_to_end.running import (
    DISPLAYS,
    ROOT,
    codes_of,
    environment,
    files_in,
    keys_in,
    plates_of,
    wallbill,
)  # fmt: skip
from wallbill.panels.model import Panel
from wallbill.panels.shell import load_panels
from wallbill.wall.shell import load_wall


def record(demo: DemoPress, name: str) -> dict[str, Any]:
    found = json.loads((demo.out / f"{name}.json").read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


def panel(demo: DemoPress, name: str) -> Panel:
    return load_panels()[record(demo, name)["panel"]]


def documented_keys(column: str) -> set[str]:
    """The words in code type of a column of the record's table in the reference of commands."""
    text = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    rows = text[text.index("| key | what |") :].split("\n\n", 1)[0].splitlines()[2:]
    place = ("key", "what").index(column) + 1
    return {key for row in rows for key in re.findall(r"`(\w+)`", row.split("|")[place])}


def test_it_is_pressed_without_a_network(demo: DemoPress) -> None:
    assert demo.said.status == 0, demo.said
    told = [line.split(": ")[0] for line in demo.said.out.splitlines()]
    assert told == ["hall", "kitchen", "workshop", "study", "porch"]
    started = demo.log.read_text(encoding="utf-8").splitlines()
    assert any(" press " in line for line in started)
    assert any("wallbill.press.shell_worker" in line for line in started), "the guard was not in the worker"
    assert "asked" not in started


def test_the_guard_of_the_network_guards(tmp_path: Path) -> None:
    code = (
        "import socket\n"
        "for call in (lambda: socket.create_connection(('127.0.0.1', 9)), lambda: socket.getaddrinfo('x', 9),\n"
        "             lambda: socket.socket().connect(('127.0.0.1', 9))):\n"
        "    try: call()\n"
        "    except OSError as error: assert 'no network' in str(error), error\n"
        "    else: raise SystemExit('reached')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], env=environment(tmp_path, **guard(tmp_path)), check=False
    )
    assert done.returncode == 0
    assert (tmp_path / "log").read_text(encoding="utf-8").splitlines().count("asked") == 3


def test_each_display_has_its_files_and_nothing_else_is_there(demo: DemoPress) -> None:
    assert set(load_wall(demo.wall).displays) == set(DISPLAYS)
    endings = (".png", ".plates", ".proof.png", ".page.html", ".json")
    assert set(files_in(demo.out)) == {name + ending for name in DISPLAYS for ending in endings}
    for name in DISPLAYS:
        assert set(record(demo, name)["files"].values()) == {name + ending for ending in endings[:-1]}


@pytest.mark.parametrize("name", DISPLAYS)
def test_the_picture_is_the_panels_inks_and_the_record_tells_it(demo: DemoPress, name: str) -> None:
    told, of_panel = record(demo, name), panel(demo, name)
    codes, palette = codes_of(demo.out / f"{name}.png")
    assert palette == tuple(ink.css for ink in of_panel.inks)
    assert codes.shape == (of_panel.height_px, of_panel.width_px) == (told["height_px"], told["width_px"])
    counts = np.bincount(codes.ravel(), minlength=len(palette))
    assert told["inks"] == dict(zip((ink.name for ink in of_panel.inks), counts.tolist(), strict=True))
    assert (counts > 0).sum() >= 2
    names = ",".join(ink.name for ink in of_panel.inks)
    head = f"{of_panel.width_px}x{of_panel.height_px};{names};".encode()
    assert told["digest"] == hashlib.sha256(head + codes.tobytes()).hexdigest()


@pytest.mark.parametrize("name", DISPLAYS)
def test_the_plates_partition_the_pixels_and_agree_with_the_picture(demo: DemoPress, name: str) -> None:
    codes, palette = codes_of(demo.out / f"{name}.png")
    size_px = (codes.shape[1], codes.shape[0])
    plates = plates_of(demo.out / f"{name}.plates", count=len(palette), size_px=size_px)
    assert (plates.sum(axis=0) == 1).all()
    assert (plates.argmax(axis=0) == codes).all()


@pytest.mark.parametrize("name", DISPLAYS)
def test_the_proof_shows_each_ink_in_one_colour(demo: DemoPress, name: str) -> None:
    codes, palette = codes_of(demo.out / f"{name}.png")
    with Image.open(demo.out / f"{name}.proof.png") as image:
        proof = np.asarray(image.convert("RGB"), dtype=np.uint32)
    around_px = (proof.shape[0] - codes.shape[0]) // 2  # the wall that it hangs on
    proof = proof[around_px:-around_px, around_px:-around_px]
    assert proof.shape[:2] == codes.shape
    colours = (proof[..., 0] << 16) + (proof[..., 1] << 8) + proof[..., 2]
    shown = {code: set(np.unique(colours[codes == code]).tolist()) for code in range(len(palette))}
    assert all(len(colour) <= 1 for colour in shown.values())
    used = [colour for colour in shown.values() if colour]
    assert len(set.union(*used)) == len(used)


@pytest.mark.parametrize("name", DISPLAYS)
def test_the_record_has_the_keys_that_the_reference_lists(demo: DemoPress, name: str) -> None:
    told = record(demo, name)
    sources, findings = told["sources"], told["findings"]
    assert keys_in(told) == documented_keys("key")
    inner = (told["files"], *sources.values(), *findings)
    assert {key for each in inner for key in keys_in(each)} <= documented_keys("what")
    assert (told["display"], told["at"]) == (name, "2026-03-14T08:00:00+00:00")
    assert told["stale"] == [source for source, how in sources.items() if how["state"] != "fresh"]
    assert not [finding for finding in findings if finding["weight"] == "stop"]


def test_no_type_leaves_the_page(demo: DemoPress) -> None:
    found = [f for name in DISPLAYS for f in record(demo, name)["findings"] if f["rule"] == "press.overflow"]
    assert not found


def test_the_page_that_was_pressed_lies_beside_the_pictures(demo: DemoPress) -> None:
    for name in DISPLAYS:
        page = (demo.out / f"{name}.page.html").read_text(encoding="utf-8")
        assert page.startswith("<!DOCTYPE html>")
        assert "{{" not in page.split("</style>")[-1]


def test_the_same_inputs_give_the_same_bytes(demo: DemoPress, tmp_path: Path) -> None:
    """Cold cache against warm, in two processes that hash their strings differently."""
    again = wallbill(
        "press", demo.wall, "--offline", "--at", "2026-03-14T08:00", "--out", tmp_path / "out",
        cache=demo.cache, more={"PYTHONHASHSEED": "4711", "LANG": "C", "TZ": "Asia/Kathmandu"},
    )  # fmt: skip
    assert again.status == 0
    first, second = files_in(demo.out), files_in(tmp_path / "out")
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []

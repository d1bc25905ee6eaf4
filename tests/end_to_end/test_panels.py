"""One sheet on other panels and turned; crisp type in the raster of the press."""

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.end_to_end.conftest import DemoPress, Press
from tests.end_to_end.running import AT, DISPLAYS, codes_of, plates_of
from wallbill.cli.bench import gathered
from wallbill.inks.proof import ink_colours
from wallbill.panels.model import Tone
from wallbill.panels.shell import load_panels
from wallbill.sheets.making import Job, Made, fill, press_filled
from wallbill.sheets.shell import load_materials, open_tools
from wallbill.wall.model import Wall
from wallbill.wall.shell import load_wall

HALL = "5.8in-648x480-black-white-red"
OTHERS = (
    "4.2in-400x300-black-white",
    "7.3in-800x480-black-white-red-yellow",
    "10.3in-1872x1404-16-greys",
)


def hung(demo: DemoPress, folder: Path, *, panel: str = HALL, turned_deg: int = 0) -> Path:
    """The example wall with another panel in the hall, or one that hangs turned."""
    folder.mkdir()
    for part in ("sheets", "payloads", "facts", "pictures"):
        (folder / part).symlink_to(demo.wall / part)
    text = (demo.wall / "wall.toml").read_text(encoding="utf-8")
    assert f'panel = "{HALL}"' in text
    text = text.replace(f'panel = "{HALL}"', f'panel = "{panel}"\nturned = {turned_deg}')
    (folder / "wall.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize("panel", OTHERS)
@pytest.mark.parametrize("turned_deg", [0, 90])
def test_the_hall_sheet_fits_other_panels(
    press: Press, demo: DemoPress, tmp_path: Path, *, panel: str, turned_deg: int
) -> None:
    press(hung(demo, tmp_path / "wall", panel=panel, turned_deg=turned_deg), "hall", status=0)
    record = json.loads((tmp_path / "out" / "hall.json").read_text(encoding="utf-8"))
    assert [finding for finding in record["findings"] if finding["rule"] == "press.overflow"] == []
    found = load_panels()[panel]
    codes, palette = codes_of(tmp_path / "out" / "hall.png")
    assert codes.shape == (found.height_px, found.width_px)
    assert palette == tuple(ink.css for ink in found.inks)
    paper = palette.index((255, 255, 255))
    edges = (codes[0], codes[-1], codes[:, 0], codes[:, -1])
    assert all((edge == paper).mean() > 0.5 for edge in edges)  # nothing runs off the page


@pytest.mark.parametrize("turned_deg", [0, 90, 180, 270])
def test_a_turned_panel_gets_the_upright_page_in_its_own_scan_order(
    press: Press, demo: DemoPress, tmp_path: Path, turned_deg: int
) -> None:
    """A panel that hangs turned clockwise shows its own first row at that side: the file is turned back by as much."""
    press(hung(demo, tmp_path / "wall", turned_deg=turned_deg), "hall", status=0)
    inks = load_panels()[HALL].inks
    with Image.open(tmp_path / "out" / "hall.proof.png") as image:
        proof = np.asarray(image.convert("RGB"))
    record = json.loads((tmp_path / "out" / "hall.json").read_text(encoding="utf-8"))
    size_px = (record["width_px"], record["height_px"])
    assert size_px == ((480, 648) if turned_deg % 180 else (648, 480))
    top, left = (proof.shape[0] - size_px[1]) // 2, (proof.shape[1] - size_px[0]) // 2
    page = proof[top : top + size_px[1], left : left + size_px[0]]
    colours = ink_colours(inks)
    upright = (page[:, :, None, :] == colours).all(axis=3)
    assert (upright.sum(axis=2) == 1).all()
    codes, _ = codes_of(tmp_path / "out" / "hall.png")
    assert codes.shape == (480, 648)
    # What hangs turned clockwise by so much shows the device's picture turned clockwise by so much.
    assert (np.rot90(codes, -turned_deg // 90) == upright.argmax(axis=2)).all()
    plates = plates_of(tmp_path / "out" / "hall.plates", count=len(inks), size_px=(648, 480))
    assert (plates.argmax(axis=0) == codes).all()


def pressed(wall: Wall, name: str, demo: DemoPress) -> Made:
    """A display's page as it leaves the press, its drawings out of sight, so that only type and boxes are left."""
    now = datetime.fromisoformat(AT).replace(tzinfo=wall.time_zone)
    job = Job(wall, wall.display(name), gathered(wall, now, offline=True), load_materials(wall), now)
    filled = fill(job)
    hidden = filled.html.replace("</head>", "<style>svg{visibility:hidden!important}</style></head>", 1)
    assert hidden != filled.html
    with open_tools(wall, cache=demo.cache / "wallbill") as tools:
        return press_filled(replace(filled, html=hidden), job, tools=tools)


@pytest.mark.parametrize("name", DISPLAYS)
def test_type_is_of_exact_inks_before_it_is_separated(demo: DemoPress, name: str) -> None:
    """On panels of few inks no pixel of any text box is smoothed; where there are greys, type keeps its smooth edge."""
    wall = load_wall(demo.wall)
    panel = wall.display(name).panel
    made = pressed(wall, name, demo)
    inks = np.array([ink.css for ink in panel.inks], dtype=np.int16)
    off = np.abs(made.pressed.rgb[:, :, None, :].astype(np.int16) - inks).sum(axis=3).min(axis=2) > 0
    inside = np.zeros_like(off)
    for box in (made.pressed.boxes[text] for text in made.pressed.text_boxes):
        x_px, y_px = max(0, int(box.x_px)), max(0, int(box.y_px))
        inside[y_px : int(box.y_px + box.height_px) + 1, x_px : int(box.x_px + box.width_px) + 1] = True
    inside &= ~made.pressed.picture
    type_px = int((made.pressed.rgb[inside] == 0).all(axis=1).sum())
    assert type_px > 400, "there is type to look at"
    if panel.tone is Tone.GREYS:
        assert (off & inside).any()
    else:
        assert int((off & inside).sum()) == 0


def test_fitted_type_is_the_same_wherever_it_stands(press: Press, tmp_path: Path) -> None:
    """The same word at three places of a page has the same pixels: it lies at whole pixels."""
    from tests.end_to_end.walls import wall as small  # noqa: PLC0415  the name is taken here

    word = '<p style="position:absolute;left:{}px;top:{}px;font-size:17px">Quay</p>'
    sheet = "<style>*{margin:0}</style>" + "".join(
        word.format(*at) for at in ((10, 10), (110, 41), (203, 87))
    )
    press(small(tmp_path / "wall", sheets={"porch.html": sheet}), status=0)
    codes, _ = codes_of(tmp_path / "out" / "porch.png")
    words = [codes[y : y + 24, x : x + 50] for x, y in ((10, 10), (110, 41), (203, 87))]
    assert len(np.unique(words[0])) == 2
    assert all((each == words[0]).all() for each in words[1:])

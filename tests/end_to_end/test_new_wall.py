"""A new wall is ready to press: as the tutorial says it, with nothing in between."""

import json
from pathlib import Path

import numpy as np

from tests.end_to_end.conftest import DemoPress
from tests.end_to_end.running import AT, codes_of, files_in, wallbill
from wallbill.panels.shell import load_panels


def test_a_new_wall_is_pressed_out_of_the_box(demo: DemoPress, tmp_path: Path) -> None:
    harbour = tmp_path / "harbour"
    made = wallbill("new", harbour, cache=demo.cache)
    assert (made.status, made.err) == (0, "")
    said = wallbill("press", harbour, "--out", tmp_path / "out", cache=demo.cache)
    assert (said.status, said.err) == (0, "")
    assert said.out.splitlines() == [f"hall: {tmp_path / 'out' / 'hall.png'}"]
    assert set(files_in(tmp_path / "out")) == {
        "hall.png", "hall.plates", "hall.proof.png", "hall.page.html", "hall.json"
    }  # fmt: skip
    codes, palette = codes_of(tmp_path / "out" / "hall.png")
    assert len(palette) == 3
    assert 0.01 < (codes == palette.index((0, 0, 0))).mean() < 0.5
    record = json.loads((tmp_path / "out" / "hall.json").read_text(encoding="utf-8"))
    assert (record["stale"], record["findings"]) == ([], [])
    facts = wallbill("facts", harbour, cache=demo.cache)
    assert facts.status == 0
    assert "facts.sky.sunset" in facts.out


def test_the_new_sheet_fits_every_panel(demo: DemoPress, tmp_path: Path) -> None:
    """Upright and turned, one panel of each size; nothing is cut off."""
    wallbill("new", tmp_path / "harbour", cache=demo.cache)
    file = tmp_path / "harbour" / "wall.toml"
    head = file.read_text(encoding="utf-8").split("[displays.hall]")[0]
    sizes = {(panel.width_px, panel.height_px): name for name, panel in load_panels().items()}
    assert len(sizes) > 10
    tables = [
        f'[displays.d{width_px}x{height_px}-{turned}]\npanel = "{name}"\nturned = {turned}\nread_from = "1 m"\n'
        'sheet = "hall"\nevery = "1 d"\n'
        for (width_px, height_px), name in sizes.items()
        if width_px * height_px < 600_000  # larger ones are of the same shapes
        for turned in (0, 90)
    ]
    file.write_text(head + "".join(tables), encoding="utf-8")
    style = tmp_path / "harbour" / "sheets" / "hall.css"
    uncut = style.read_text(encoding="utf-8").replace(
        "overflow: hidden;", ""
    )  # what would be cut runs to the edge
    style.write_text(uncut, encoding="utf-8")
    said = wallbill("press", tmp_path / "harbour", "--at", AT, "--out", tmp_path / "out", cache=demo.cache)
    assert (said.status, said.err) == (0, "")
    for path in (tmp_path / "out").glob("d*0.png"):
        codes, palette = codes_of(path)
        assert len(np.unique(codes)) >= 2
        paper = codes == palette.index((255, 255, 255))
        assert all(edge.all() for edge in (paper[0], paper[-1], paper[:, 0], paper[:, -1])), path.name

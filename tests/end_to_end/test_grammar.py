"""Charts in the grammar of graphics as a sheet calls them, pressed on a panel."""

import json
from pathlib import Path

import pytest

from tests.end_to_end.conftest import Press
from tests.end_to_end.walls import wall

SPEC = {
    "description": "Boats at each quay",
    "mark": "bar",
    "encoding": {"x": {"field": "quay", "title": None}, "y": {"field": "boats", "type": "quantitative"}},
}
ROWS = "data=[{'quay': 'east', 'boats': 3}, {'quay': 'west', 'boats': 5}]"
SIZE = "width_px=280, height_px=120"


def chart(folder: Path, call: str, *, spec: str = json.dumps(SPEC)) -> Path:
    """A wall whose sheet calls ``vega_lite`` so, with the spec in ``boats.json``."""
    sheets = {"porch.html": f"<p>Boats</p>{{{{ vega_lite({call}) }}}}", "boats.json": spec}
    return wall(folder / "wall", sheets=sheets)


def test_a_chart_is_pressed(press: Press, tmp_path: Path) -> None:
    press(chart(tmp_path, f"'boats.json', {SIZE}, {ROWS}"), status=0)
    page = (tmp_path / "out" / "porch.page.html").read_text(encoding="utf-8")
    assert 'class="wb-chart" role="img" aria-label="Boats at each quay"' in page
    assert ">east</span>" in page


def test_a_gap_leaves_an_empty_place_of_the_same_size(press: Press, tmp_path: Path) -> None:
    press(chart(tmp_path, f"'boats.json', {SIZE}, data=none"), status=0)
    page = (tmp_path / "out" / "porch.page.html").read_text(encoding="utf-8")
    assert 'class="wb-gap" style="width:280px;height:120px' in page


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (f"'boat.json', {SIZE}, {ROWS}", "there is no spec 'boat.json' in sheets/\n  mend: Did you mean 'boats.json'?"),
        (f"'boats.json', {SIZE}, {ROWS}, colour=1", "vega_lite knows no colour"),
        (f"'boats.json', {SIZE}, data='x'", "a chart is drawn of rows, not of a text"),
        (f"{{'data': {{'url': 'x.csv'}}, 'mark': 'bar'}}, {SIZE}", "loads nothing from outside: 'x.csv'"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told(press: Press, tmp_path: Path, call: str, words: str) -> None:
    assert words in press(chart(tmp_path, call), status=1).err


def test_a_file_that_is_no_json_is_told_with_file_and_line(press: Press, tmp_path: Path) -> None:
    said = press(chart(tmp_path, f"'boats.json', {SIZE}", spec='{\n"mark" "bar"}'), status=1)
    assert "sheets/boats.json:2: this is no JSON" in said.err

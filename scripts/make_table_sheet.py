"""Makes the picture of tables, lists and fitted texts for the documents: docs/pictures/tables.png.

A sheet that goes through the whole press on a panel of black, white and red. Run it after a change to any of them:
``python scripts/make_table_sheet.py``.
"""

import tempfile
from datetime import datetime
from pathlib import Path

import numpy as np
from PIL import Image

from wallbill.facts.supply import Supply
from wallbill.sheets.making import Job, make
from wallbill.sheets.shell import load_materials, open_tools
from wallbill.wall.shell import load_wall

TARGET = Path(__file__).parents[1] / "docs" / "pictures" / "tables.png"
SETTINGS = """
[wall]
name = "Fennel Quay"
place = { latitude = 50.31, longitude = -4.05 }
time_zone = "Europe/London"
language = "en-GB"

[displays.tables]
panel = "7.5in-800x480-black-white-red"
read_from = "1 m"
sheet = "tables"
"""
SHEET = """
<style>.at{position:absolute}</style>
{% set week = [
  {"at": "07:40", "what": "Early outing", "where": "Slipway", "tide": 3.5, "day": "Today"},
  {"at": "09:30", "what": "Harbour committee", "where": "Net loft, upper room", "tide": 4.25, "day": "Today", "first": true},
  {"at": "18:15", "what": "Novices on the water", "where": "Slipway", "tide": 0.8, "day": "Today"},
  {"at": "08:00", "what": "Winter league, third race", "where": "Outer mark", "tide": 4.9, "day": "Sunday"},
  {"at": "12:10", "what": "High water", "tide": 5.2, "day": "Sunday"},
  {"at": "15:00", "what": "Tea", "where": "Hut", "tide": 3, "day": "Sunday"},
  {"at": "19:00", "what": "Supper", "where": "Hut", "tide": 1, "day": "Monday"}] %}
{% set boats = [
  {"at": "07:52", "line": "2", "to": "Lighthouse by way of the Old Market", "late": "on time", "next": true},
  {"at": "08:05", "line": "7", "to": "Upper Town", "late": "cancelled", "gone": true},
  {"at": "08:11", "line": "2", "to": "Sandpit Lane", "late": "4 min late"},
  {"at": "08:20", "line": "7", "to": "Airfield", "late": "on time"}] %}
{% set jobs = [
  {"summary": "Varnish the sculls and hang them in the loft", "due": "27 Mar"},
  {"summary": "Buy rope", "done": true}, {"summary": "Ask about the trailer’s lights", "due": "2 Apr"},
  {"summary": "Count the lifejackets"}, {"summary": "Grease the winch"}, {"summary": "Paint the oars"}] %}
<div class="at" style="left:16px;top:12px">{{ table(week, columns=[
  {"key": "at", "head": "At", "priority": 3}, {"key": "what", "head": "What is on", "priority": 2},
  {"key": "where", "head": "Where", "priority": 1},
  {"key": "tide", "head": "Tide, m", "numeric": true, "format": ["number", 1], "priority": 2}],
  width_px=440, height_px=280, size_px=18, group="day", accent="first") }}</div>
<div class="at" style="left:488px;top:12px">{{ fitted_list(jobs, width_px=296, height_px=196, size_px=18,
  marks="box", wrap=2, done="done", note="due") }}</div>
<div class="at" style="left:16px;top:316px">{{ table(boats, columns=[
  {"key": "at", "priority": 3}, {"key": "line", "priority": 3}, {"key": "to", "wrap": 2, "priority": 1},
  {"key": "late", "align": "end", "priority": 2}],
  width_px=440, height_px=152, size_px=18, strike="gone", reverse="next", lines="tint") }}</div>
<div class="at" style="left:488px;top:228px;width:296px;height:2px;background:#ff0000"></div>
<div class="at" style="left:488px;top:244px">{{ fitted_text("Ground frost tonight: take care on the slipway",
  width_px=296, height_px=220, role="wb-strong") }}</div>
"""


def main() -> None:
    """Presses the sheet and writes the picture."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "sheets").mkdir()
        (folder / "wall.toml").write_text(SETTINGS, encoding="utf-8")
        (folder / "sheets" / "tables.html").write_text(SHEET, encoding="utf-8")
        wall = load_wall(folder)
        now = datetime(2026, 3, 27, 7, 30, tzinfo=wall.time_zone)
        job = Job(wall, wall.display("tables"), Supply({}), load_materials(wall), now)
        with open_tools(wall, cache=None) as tools:
            made = make(job, tools)
    for finding in made.findings:
        raise SystemExit(str(finding))
    colours = np.array([ink.css for ink in job.display.panel.inks], dtype=np.uint8)
    indexed = Image.fromarray(colours[made.impression.codes]).quantize(4, dither=Image.Dither.NONE)
    indexed.save(TARGET, optimize=True)


if __name__ == "__main__":
    main()

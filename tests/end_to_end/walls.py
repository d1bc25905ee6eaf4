"""Small walls for tests: one display of two inks, a sheet, and what else a test puts in. All of it is invented."""

from pathlib import Path

HEAD = """
[wall]
name = "Boat shed"
place = { latitude = 50.31, longitude = -4.05 }
time_zone = "Europe/London"
language = "en-GB"
"""

SKY = """
[sources.sky]
kind = "sky"
"""


def display(name: str, *, panel: str = "2.9in-296x128-black-white", sheet: str = "", more: str = "") -> str:
    """The table of a display."""
    return f'\n[displays.{name}]\npanel = "{panel}"\nread_from = "1 m"\nsheet = "{sheet or name}"\n{more}\n'


def wall(folder: Path, settings: str = "", *, sheets: dict[str, str] | None = None) -> Path:
    """A wall in ``folder`` whose display ``porch`` shows the sheet ``porch``. ``sheets``: texts by file name."""
    (folder / "sheets").mkdir(parents=True)
    (folder / "wall.toml").write_text(HEAD + SKY + display("porch") + settings, encoding="utf-8")
    for name, text in {"porch.html": "<p>Boats</p>", **(sheets or {})}.items():
        (folder / "sheets" / name).write_text(text, encoding="utf-8")
    return folder

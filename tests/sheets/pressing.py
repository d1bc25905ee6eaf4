"""Presses a sheet on real panel profiles, through the whole way: settings, template, engine, inks. All is invented."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from wallbill.facts.supply import Supplied, Supply
from wallbill.sheets.making import Job, Made, Tools, make
from wallbill.sheets.shell import load_materials, open_tools
from wallbill.wall.shell import load_wall

SETTINGS = """
[wall]
name = "Boat shed"
place = { latitude = 50.31, longitude = -4.05 }
time_zone = "Europe/London"
language = "en-GB"
"""

# One panel a class of inks, and for two inks a small and a large one.
CLASSES = (
    "2.13in-250x122-black-white",
    "4.2in-400x300-black-white",
    "12.48in-1304x984-black-white",
    "4.2in-400x300-black-white-red",
    "4.2in-400x300-black-white-yellow",
    "4.2in-400x300-black-white-red-yellow",
    "7.3in-800x480-six-inks",
    "5.65in-600x448-seven-inks",
    "4.2in-400x300-4-greys",
    "6in-800x600-16-greys",
)
TURNS = (0, 90, 180, 270)


@dataclass(frozen=True)
class Pressing:
    """Presses sheets for walls in a folder, with warm tools."""

    folder: Path
    tools: Tools

    def __call__(
        self,
        sheet: str,
        *,
        panel: str,
        read_from_m: float = 0.5,
        turned: int = 0,
        pictures: Mapping[str, bytes] | None = None,
        tables: str = "",
        sources: Mapping[str, Supplied] | None = None,
    ) -> Made:
        """The impression of a sheet, with what made it. ``tables``: of its sources, in TOML; ``sources``: what they gave."""
        made = self.folder / f"wall-{len(list(self.folder.iterdir()))}"
        (made / "sheets").mkdir(parents=True)
        (made / "pictures").mkdir()
        display = f'\n[displays.porch]\npanel = "{panel}"\nread_from = "{read_from_m} m"\nturned = {turned}\nsheet = "porch"\n'
        (made / "wall.toml").write_text(SETTINGS + tables + display, encoding="utf-8")
        (made / "sheets" / "porch.html").write_text(sheet, encoding="utf-8")
        for name, data in (pictures or {}).items():
            (made / "pictures" / name).write_bytes(data)
        wall = load_wall(made)
        now = datetime(2026, 3, 14, 8, tzinfo=wall.time_zone)
        job = Job(wall, wall.displays["porch"], Supply(sources or {}), load_materials(wall), now)
        return make(job, self.tools)


@contextmanager
def open_pressing(folder: Path) -> Iterator[Pressing]:
    """Warm tools for as long as the context lasts."""
    (folder / "first").mkdir()
    (folder / "first" / "wall.toml").write_text(SETTINGS, encoding="utf-8")
    with open_tools(load_wall(folder / "first"), cache=None) as tools:
        yield Pressing(folder, tools)

"""A wall folder that is good, for tests to spoil."""

from collections.abc import Callable
from pathlib import Path

import pytest

GOOD = """\
[wall]
name = "Fennel Quay"
place = { latitude = 50.31, longitude = -4.05, elevation = "12 m" }
time_zone = "Europe/London"
language = "en-GB"
units = { temperature = "°C", speed = "km/h" }

[sources.forecast]
kind = "forecast"
service = "met-norway"
every = "30 min"
good_for = "3 h"

[sources.rota]
kind = "agenda"
url = { secret = "ROTA_ADDRESS" }

[displays.hall]
panel = "5.8in-648x480-black-white-red"
read_from = "2 m"
turned = 90
sheet = "hall"
every = "20 min"
quiet = "23:00-06:00"
timetable = [
  { from = "06:30", to = "09:00", days = "Mon-Fri", sheet = "morning" },
  { from = "20:00", to = "24:00", sheet = "evening" },
]
interrupts = [ { when = "forecast.alerts", sheet = "warning" } ]
"""

MakeWall = Callable[..., Path]


@pytest.fixture
def make_wall(tmp_path: Path) -> MakeWall:
    """Writes a wall folder with the text given, and its sheets; gives the folder."""

    def make(
        text: str = GOOD, *, sheets: tuple[str, ...] = ("hall", "morning", "evening", "warning")
    ) -> Path:
        folder = tmp_path / "quay"
        (folder / "sheets").mkdir(parents=True, exist_ok=True)
        for sheet in sheets:
            (folder / "sheets" / f"{sheet}.html").write_text("<p>", encoding="utf-8")
        (folder / "wall.toml").write_text(text, encoding="utf-8")
        return folder

    return make

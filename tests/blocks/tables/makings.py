"""Rooms and rows for the tests of tables. Everything here is invented."""

from collections.abc import Mapping
from zoneinfo import ZoneInfo

from tests.blocks.rulers import SevenPixelsALetter

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.tables.cutting import Type
from wallbill.blocks.tables.table import Room
from wallbill.units.wording import Wording


def seven(text: str) -> int:
    """Seven pixels a letter."""
    return SevenPixelsALetter().width_px(text, size_px=10)


SEVEN = Type(seven)


def room(
    width_px: int,
    height_px: int,
    *,
    size_px: int = 10,
    language: str = "en-GB",
    more: str | Mapping[str, str] | None = None,
) -> Room:
    """A room whose ruler needs no face: rows are 14 px apart at 10 px, lines of a cell 12."""
    wording = Wording(language=language, zone=ZoneInfo("Europe/London"))
    return Room(
        width_px, height_px, size_px, SevenPixelsALetter(), wording, Palette(accent="#ff0000"), 0, more
    )

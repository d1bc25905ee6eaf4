"""Panels and pages that the tests of the press share. Everything here is invented."""

from wallbill.panels.model import Edge, Ink, Outline, Panel, Refresh, Tone
from wallbill.press.pressing import SheetPage

BLACK = Ink("black", (0, 0, 0), (18.0, 0.0, 0.0))
WHITE = Ink("white", (255, 255, 255), (66.0, 0.0, 0.0))
RED = Ink("red", (255, 0, 0), (30.0, 40.0, 30.0))


def panel(*inks: Ink, tone: Tone = Tone.INKS) -> Panel:
    """A panel of 400 x 300 pixels with these inks."""
    return Panel(
        "test", 400, 300, 84.8, 63.6, inks, tone, Refresh(15.0, None, None, 180, 86400),
        Outline(91.0, 77.0, 1.2, (3.0, 3.0), Edge.BOTTOM),
    )  # fmt: skip


def greys(levels: int) -> Panel:
    """A panel of so many greys."""
    steps = [round(255 * at / (levels - 1)) for at in range(levels)]
    return panel(
        *(Ink(f"grey-{at}", (s, s, s), (s / 2.55, 0.0, 0.0)) for at, s in enumerate(steps)), tone=Tone.GREYS
    )


TWO = panel(BLACK, WHITE)
THREE = panel(BLACK, WHITE, RED)
SIXTEEN = greys(16)


def sheet(html: str, *, on: Panel = THREE, width_px: int = 400, height_px: int = 300) -> SheetPage:
    """A page called ``hall.html``."""
    return SheetPage(html, "hall.html", width_px, height_px, on)


class MemoryKeep:
    """Keeps fitted faces for as long as the tests run."""

    def __init__(self) -> None:
        self._values: dict[str, bytes] = {}

    def get(self, key: str) -> bytes | None:
        return self._values.get(key)

    def put(self, key: str, data: bytes) -> None:
        self._values[key] = data

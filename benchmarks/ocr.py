"""How well type is read by a machine, for four ways to get it onto two inks. A proxy for legibility, no more.

Each way sets the same lines in Noto Sans Regular at the same size, black on white, one line below the other. The page
is enlarged fourfold without smoothing and read by tesseract (model "Latin", one block of text). Accuracy: one less
the edit distance by characters.
"""

import base64
import io
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path

import blitz_py
import numpy as np
from benchmarks.corpus import LINES, SIZES_PX
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from playwright.sync_api import sync_playwright

from wallbill.faces.shell import FaceKeep, load_shelf
from wallbill.inks.separation import separate
from wallbill.panels.shell import load_panels
from wallbill.press.pressing import PressTools, SheetPage, press_page
from wallbill.press.shell import MemoryPlans, open_engine

FACE = resources.files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf"
WIDTH_PX = 760
Black = NDArray[np.bool_]


def _page(size_px: int, family: str) -> tuple[str, int]:
    line_px = round(size_px * 1.6)
    body = "".join(f'<div style="height:{line_px}px;line-height:{line_px}px">{line}</div>' for line in LINES)
    html = (
        "<!DOCTYPE html><html><body style='margin:0;background:#fff;color:#000'>"
        f'<div style="padding:16px;font:{size_px}px {family};white-space:nowrap">{body}</div></body></html>'
    )
    return html, line_px * len(LINES) + 32


def _dark(rgb: NDArray[np.uint8]) -> Black:
    return np.asarray(rgb[..., :3].mean(axis=2) < 128)


def by_wallbill(tools: PressTools) -> Callable[[int], Black]:
    """Our press, its panel a black and white one."""
    panel = load_panels()["4.2in-400x300-black-white"]

    def paint(size_px: int) -> Black:
        html, height_px = _page(size_px, "sans-serif")
        pressed = press_page(
            SheetPage(html=html, name="ocr", width_px=WIDTH_PX, height_px=height_px, panel=panel), tools
        )
        codes = separate(pressed.rgb, panel=panel).codes
        black = next(code for code, ink in enumerate(panel.inks) if ink.name == "black")
        return np.asarray(codes == black)

    return paint


def by_engine(size_px: int) -> Black:
    """The same engine without fitted faces, thresholded."""
    html, height_px = _page(size_px, "'Noto Sans'")
    width, height, data = blitz_py.render_rgba(
        html, width=WIDTH_PX, height=height_px, fonts=[FACE.read_bytes()]
    )
    return _dark(np.frombuffer(data, np.uint8).reshape(height, width, 4))


def by_pillow(size_px: int) -> Black:
    """Pillow's own bi-level text (fontmode "1")."""
    _, height_px = _page(size_px, "")
    line_px = round(size_px * 1.6)
    picture = Image.new("1", (WIDTH_PX, height_px), 1)
    draw = ImageDraw.Draw(picture)
    draw.fontmode = "1"
    face = ImageFont.truetype(io.BytesIO(FACE.read_bytes()), size_px)
    face.set_variation_by_axes(
        [400, 100] if face.get_variation_axes()[0]["name"] == b"Weight" else [100, 400]
    )
    for row, line in enumerate(LINES):
        draw.text((16, 16 + row * line_px), line, font=face, fill=0)
    return ~np.asarray(picture)


@contextmanager
def by_browser() -> Iterator[Callable[[int], Black]]:
    """A headless browser's screenshot, thresholded."""
    face = base64.b64encode(FACE.read_bytes()).decode()
    style = (
        f"<style>@font-face{{font-family:N;font-weight:100 900;src:url(data:font/ttf;base64,{face})}}</style>"
    )
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--hide-scrollbars", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": WIDTH_PX, "height": 600})

        def paint(size_px: int) -> Black:
            html, height_px = _page(size_px, "N")
            page.set_viewport_size({"width": WIDTH_PX, "height": height_px})
            page.set_content(style + html)
            page.evaluate("document.fonts.ready")
            picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
            return _dark(np.asarray(picture))

        yield paint
        browser.close()


def read(black: Black) -> str:
    """What tesseract reads on a page of black pixels."""
    picture = Image.fromarray(np.where(black, 0, 255).astype(np.uint8)).resize(
        (black.shape[1] * 4, black.shape[0] * 4), Image.Resampling.NEAREST
    )
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "page.png"
        picture.save(file)
        done = subprocess.run(
            ["tesseract", str(file), "-", "-l", "Latin", "--psm", "6"],
            capture_output=True, text=True, check=True, timeout=120, env={"OMP_THREAD_LIMIT": "1", "PATH": "/usr/bin:/bin"},
        )  # fmt: skip
    return done.stdout


def distance(one: str, other: str) -> int:
    """Edit distance by characters (Levenshtein 1966)."""
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        above, row[0] = row[0], i
        for j, b in enumerate(other, 1):
            above, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, above + (a != b))
    return row[-1]


def accuracy(black: Black) -> float:
    """Share of characters read right, 0 to 100."""
    wanted = " ".join(" ".join(LINES).split())
    got = " ".join(read(black).split())
    return 100 * max(0.0, 1 - distance(wanted, got) / len(wanted))


def table() -> dict[str, dict[int, float]]:
    """Accuracy by way and size in pixels."""
    engine = open_engine("blitz")
    try:
        tools = PressTools(engine=engine, shelf=load_shelf(), keep=FaceKeep(None), plans=MemoryPlans())
        with by_browser() as browser:
            ways: dict[str, Callable[[int], Black]] = {
                "wallbill": by_wallbill(tools),
                "browser, thresholded": browser,
                "engine, thresholded": by_engine,
                "pillow, fontmode 1": by_pillow,
            }
            return {name: {size: accuracy(way(size)) for size in SIZES_PX} for name, way in ways.items()}
    finally:
        engine.close()


def report() -> str:
    """The table as Markdown."""
    found = table()
    head = "| way | mean | " + " | ".join(f"{size} px" for size in SIZES_PX) + " |\n"
    rule = "|---|" + "---|" * (len(SIZES_PX) + 1) + "\n"
    rows = "".join(
        f"| {name} | {sum(row.values()) / len(row):.1f} | "
        + " | ".join(f"{row[s]:.1f}" for s in SIZES_PX)
        + " |\n"
        for name, row in found.items()
    )
    return head + rule + rows


if __name__ == "__main__":
    print(report())

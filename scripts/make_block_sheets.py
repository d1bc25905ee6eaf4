"""Makes the pictures of codes, tints and pictures for the documents: docs/pictures/{codes,tints,picture-tones}.png.

Each is a sheet that goes through the whole press on a panel of black, white and red, in the panel's own colours;
codes and tints with their pixels doubled. Run it after a change to any of them: ``python scripts/make_block_sheets.py``.
"""

import tempfile
from datetime import datetime
from fractions import Fraction
from pathlib import Path

from PIL import Image

from wallbill.blocks.drawing.patterns import HATCHES, TINTS, share_of
from wallbill.facts.supply import Supply
from wallbill.inks.proof import proof
from wallbill.sheets.making import Job, make
from wallbill.sheets.shell import load_materials, open_tools
from wallbill.wall.shell import load_wall

ROOT = Path(__file__).parents[1]
TARGET = ROOT / "docs" / "pictures"
PHOTOGRAPH = ROOT / "examples" / "fennel-quay" / "pictures" / "harbour.jpg"
SETTINGS = """
[wall]
name = "Contact sheets"
place = { latitude = 50.31, longitude = -4.05 }
time_zone = "Europe/London"
language = "en-GB"

[displays.codes]
panel = "4.2in-400x300-black-white-red"
read_from = "0.5 m"
sheet = "codes"

[displays.tints]
panel = "5.8in-648x480-black-white-red"
read_from = "0.5 m"
sheet = "tints"

[displays.picture-tones]
panel = "7.5in-800x480-black-white-red"
read_from = "0.5 m"
sheet = "picture-tones"
"""
HEAD = (
    "<style>body{font-size:13px;line-height:17px}p{margin:0}.row{display:flex}.at{position:absolute}</style>"
)


def codes() -> str:
    """QR codes of three sizes and every kind of bar code."""
    return (
        HEAD
        + """
<div class="at" style="left:12px;top:10px">{{ qr(wifi_text("Hut", "fair wind"), module_px=4, title="Network") }}</div>
<div class="at" style="left:148px;top:10px">{{ qr("https://hut.example/rota", module_px=2) }}</div>
<div class="at" style="left:152px;top:88px">{{ qr(geo_text(50.31, -4.05), module_px=1) }}</div>
<p class="at" style="left:222px;top:20px;width:170px">The network of the hut, modules of 4 px; an address of 2 px; a place of 1 px.</p>
<div class="at" style="left:0;top:150px;width:400px;height:2px;background:#000"></div>
<div class="at" style="left:8px;top:162px">{{ barcode("Hut 0042", height_px=60, module_px=2) }}</div>
<div class="at" style="left:288px;top:162px">{{ barcode("4006381333931", kind="ean13", height_px=60, module_px=1, label_px=10) }}</div>
<div class="at" style="left:18px;top:232px">{{ barcode("(01)09501101530003(17)261231(10)7", kind="gs1", height_px=56, module_px=1, label_px=12) }}</div>
<p class="at" style="left:299px;top:240px;width:94px;line-height:16px">Code 128, EAN-13 and GS1</p>
"""
    )


def box(call: str, words: str, *, at: tuple[int, int], size: tuple[int, int]) -> str:
    """A framed field of a pattern with its name and share below it."""
    (left, top), (width, height) = at, size
    return (
        f'<div class="at" style="left:{left}px;top:{top}px;width:{width}px;height:{height}px;border:1px solid #000;'
        f'background:{{{{ {call} }}}}"></div>'
        f'<p class="at" style="left:{left}px;top:{top + height + 3}px;white-space:nowrap">{words}</p>'
    )


def tints() -> str:
    """All tints above, all hatches below, each with its share of ink."""
    parts = []
    for number, (name, pattern) in enumerate(TINTS.items()):
        words = f"{name} {Fraction(share_of(pattern)).limit_denominator(64)}"
        parts.append(box(f"tint('{name}')", words, at=(16 + number * 126, 14), size=(112, 84)))
    for number, (name, pair) in enumerate(HATCHES.items()):
        for row, (how, pattern) in enumerate(zip(("open", "close"), pair, strict=True)):
            call = f"hatch('{name}', closeness='{how}', stroke_px=1)"
            words = f"{name} {Fraction(share_of(pattern)).limit_denominator(64)}"
            parts.append(box(call, words, at=(16 + number * 105, 136 + row * 104), size=(92, 72)))
    parts.append(
        '<div class="at row" style="left:16px;top:356px;width:617px;height:108px;gap:12px">'
        + "".join(
            f'<div style="flex:1;background:{{{{ {call} }}}};padding:40px 0 0 20px"><span class="wb-on-tint">{words}</span></div>'
            for call, words in (
                ("hatch('rising', stroke_px=2)", "strokes of 2 px"),
                ("hatch('crossed', stroke_px=3, of='accent')", "in the accent"),
                ("tint('half', of='accent')", "a tint of it"),
            )
        )
        + "</div>"
    )
    return HEAD + "".join(parts)


def tones() -> str:
    """One photograph by every tone, and cut in four ways."""
    return (
        HEAD
        + """<div style="display:flex;flex-wrap:wrap;gap:8px;padding:8px">
{% for tone in ("as-is", "soft", "clear", "strong") %}{{ picture("harbour.jpg", width_px=190, height_px=230, tone=tone,
  subject=(0.6, 0.2, 0.25, 0.4), caption="tone " ~ tone, caption_px=16) }}{% endfor %}
{{ picture("harbour.jpg", width_px=190, height_px=226, subject=(0.05, 0.75, 0.45, 0.2), frame_px=2, round_px=14) }}
{{ picture("harbour.jpg", width_px=190, height_px=226, subject=(0.3, 0.4, 0.18, 0.2), fit="close", caption="close", caption_px=16, caption_at="over", frame_px=1) }}
{{ picture("harbour.jpg", width_px=190, height_px=226, subject=(0.05, 0.2, 0.9, 0.6), caption="wide, and whole", caption_px=16) }}
{{ picture("harbour.jpg", width_px=190, height_px=190, subject=(0.75, 0.4), round_px=95, frame_px=3) }}
</div>"""
    )


def main() -> None:
    """Presses the sheets and writes their pictures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "sheets").mkdir()
        (folder / "pictures").mkdir()
        (folder / "pictures" / "harbour.jpg").write_bytes(PHOTOGRAPH.read_bytes())
        (folder / "wall.toml").write_text(SETTINGS, encoding="utf-8")
        for sheet, text in (("codes", codes()), ("tints", tints()), ("picture-tones", tones())):
            (folder / "sheets" / f"{sheet}.html").write_text(text, encoding="utf-8")
        wall = load_wall(folder)
        materials = load_materials(wall)
        now = datetime(2026, 3, 14, 8, tzinfo=wall.time_zone)
        with open_tools(wall, cache=None) as tools:
            for display in wall.displays.values():
                made = make(Job(wall, display, Supply({}), materials, now), tools)
                scale = 1 if display.name == "picture-tones" else 2
                picture = proof(made.impression, scale=scale, surround=False)
                target = TARGET / f"{display.name}.png"
                picture.quantize(16, dither=Image.Dither.NONE).save(target, optimize=True)
                print(target, target.stat().st_size)


if __name__ == "__main__":
    main()

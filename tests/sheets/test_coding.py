"""Codes through the whole press: a reader of other authors reads them back from the impression of every class of panel."""

import io
import re
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from tests.sheets.pressing import CLASSES, TURNS, Pressing
from wallbill.errors import SheetError
from wallbill.inks.encoding import encode_png
from wallbill.inks.impression import Impression
from wallbill.inks.proof import proof
from wallbill.inks.scanning import scanned
from wallbill.sheets.making import Made

ROOT = Path(__file__).parents[2]
ADDRESS = "https://hut.example/rota"
SHELF = "Shelf 7"
GOODS = (
    "4006381333931"  # a number with a right check digit: worked example of the EAN's check digit, from memory
)

SMALL = """
<div style="display:flex;align-items:flex-start;margin:2px">
  {{ qr("HUT 7", module_px=%(module)d) }}{{ barcode("Hut 7", height_px=40, module_px=%(module)d, label_px=12) }}
</div>
"""
LARGE = """
<p style="margin:0 4px;font-size:16px">Codes of the shed</p>
<div style="margin:4px">{{ qr("https://hut.example/rota", module_px=%(module)d) }}</div>
<div style="margin:4px">{{ barcode("Shelf 7", height_px=48, module_px=%(module)d) }}</div>
<div style="margin:4px">{{ barcode("4006381333931", kind="ean13", height_px=56, module_px=%(module)d) }}</div>
"""


def read(picture: np.ndarray) -> dict[str, str]:
    """What the reader finds, by kind of code; pixels enlarged as a camera near the panel sees them."""
    near = np.ascontiguousarray(np.repeat(np.repeat(picture, 3, axis=0), 3, axis=1))
    return {
        re.sub(r"\W", "", str(found.format)).upper(): found.text for found in zxingcpp.read_barcodes(near)
    }


def on_screen(impression: Impression) -> np.ndarray:
    """The impression in its inks' CSS colours."""
    return np.array([ink.css for ink in impression.inks], dtype=np.uint8)[impression.codes]


def found_in(made: Made, *, turned: int = 0) -> list[dict[str, str]]:
    """What is read from the impression, from it as the panel scans it, and from its proof, plain and with its wall."""
    held = scanned(made.impression, turned)
    return [
        read(on_screen(made.impression)),
        read(on_screen(held)),
        read(np.asarray(proof(made.impression, surround=False))),
        read(np.asarray(proof(made.impression, surround=True))),
    ]


@pytest.mark.parametrize("module_px", [1, 2])
@pytest.mark.parametrize("panel", CLASSES)
def test_every_class_of_panel(pressing: Pressing, panel: str, module_px: int) -> None:
    small = "250x122" in panel
    made = pressing((SMALL if small else LARGE) % {"module": module_px}, panel=panel)
    wanted = {"QR": "HUT 7", "128": "Hut 7"} if small else {"QR": ADDRESS, "128": SHELF, "EAN13": GOODS}
    if small and module_px == 2:
        wanted = {"QR": "HUT 7"}  # no room beside it
    for found in found_in(made):
        for kind, text in wanted.items():
            assert [said for name, said in found.items() if kind in name] == [text], (found, kind)


@pytest.mark.parametrize("turned", TURNS)
@pytest.mark.parametrize("panel", ["4.2in-400x300-black-white-red", "6in-800x600-16-greys"])
def test_turned(pressing: Pressing, panel: str, turned: int) -> None:
    made = pressing(LARGE % {"module": 1}, panel=panel, turned=turned)
    for found in found_in(made, turned=turned):
        assert set(found.values()) == {ADDRESS, SHELF, GOODS}


def test_a_code_stays_dark_on_paper_in_a_coloured_field(pressing: Pressing) -> None:
    sheet = '<div style="background:var(--accent);padding:9px">{{ qr("hut", module_px=3) }}</div>'
    made = pressing(sheet, panel="4.2in-400x300-black-white-red")
    assert set(read(on_screen(made.impression)).values()) == {"hut"}


def test_a_proof_shrunk_to_half_is_read_too(pressing: Pressing) -> None:
    made = pressing(LARGE % {"module": 2}, panel="4.2in-400x300-black-white")
    large = proof(made.impression, scale=3, surround=False)
    half = large.resize((large.width // 2, large.height // 2), Image.Resampling.BOX)
    assert ADDRESS in {found.text for found in zxingcpp.read_barcodes(np.asarray(half))}


def rules(made: Made) -> list[tuple[str, str]]:
    return [
        (finding.rule, str(finding.where)) for finding in made.findings if finding.rule.startswith("blocks.")
    ]


def test_a_code_too_small_for_its_reader_is_told(pressing: Pressing) -> None:
    # Pixels 0.212 mm apart: modules of 3 px are 0.64 mm, enough for 0.16 m (1/250 of the distance).
    sheet = '{{ qr("hut", module_px=3%s) }}{{ barcode("hut", height_px=50, module_px=3%s) }}'
    far = pressing(sheet % ("", ""), panel="4.2in-400x300-black-white", read_from_m=1.5)
    assert rules(far) == [
        ("blocks.code-size", 'qr("hut")'),
        ("blocks.code-size", 'barcode("hut")'),
    ]
    mend = next(f.mend for f in far.findings if f.rule == "blocks.code-size")
    assert mend.startswith("Draw modules of 29 px (a code of 841 px), or let people come as near as 0.2 m.")
    near = sheet % (", scan_from_m=0.15", ", scan_from_m=0.15")
    assert rules(pressing(near, panel="4.2in-400x300-black-white", read_from_m=1.5)) == []


def test_a_password_is_not_in_the_text_alternative(pressing: Pressing) -> None:
    sheet = '{{ qr(wifi_text("Shed", "s3cr;t"), module_px=2, title="Network of the shed", scan_from_m=0.1) }}'
    made = pressing(sheet, panel="4.2in-400x300-black-white")
    assert "s3cr" not in made.html
    assert "Network of the shed" in made.html
    assert set(read(on_screen(made.impression)).values()) == {"WIFI:T:WPA;S:Shed;P:s3cr\\;t;;"}


def test_a_code_is_drawn_whatever_it_says(pressing: Pressing) -> None:
    said = 'https://hut.example/rota?week=13&boat=<7> "x"'
    made = pressing(f"{{{{ qr('{said}', module_px=4) }}}}", panel="4.2in-400x300-black-white")
    assert read(on_screen(made.impression)) == {"QRCODE": said}


def test_gaps_become_empty_places(pressing: Pressing) -> None:
    sheet = (
        "<p>x</p>{{ qr(none, size_px=90) }}{{ qr(wifi_text(none), module_px=2) }}"
        "{{ barcode(none, width_px=120, height_px=40) }}"
    )
    html = pressing(sheet, panel="4.2in-400x300-black-white").html
    assert re.findall(r'wb-gap" style="width:(\d+)px;height:(\d+)px', html) == [
        ("90", "90"),
        ("66", "66"),
        ("120", "40"),
    ]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ('qr("a", size_px=9)', "does not fit into 9 px"),
        ('qr("a", module_px=0)', "does not fit"),
        ('qr("a", module_px=2, size_px=90)', "either a size_px or a module_px"),
        ('qr("a", module_px=2, level="X")', "no level 'X'"),
        ('qr("a", module_px=2, colour="red")', "a qr code takes no colour"),
        ('barcode("a", height_px=40)', "neither a width nor a size of its bars"),
        ('barcode("a", height_px=40, width_px=30)', "does not fit into 30 px"),
        ('barcode("a", height_px=4, module_px=1)', "at least"),
        ('barcode("ä", height_px=40, module_px=1)', "cannot hold 'ä'"),
        ('barcode("a", height_px=40, module_px=1, kind="code93")', "no bar code of kind 'code93'"),
        ('barcode("4006381333932", height_px=40, module_px=1, kind="ean13")', "would be 1"),
        ('qr(wifi_text("a", "b", security="WPA9"), module_px=1)', "keeps no network"),
        ("qr(geo_text(91, 0), module_px=1)", "no place"),
        ('qr(phone_text("none"), module_px=1)', "no telephone number"),
        ('qr(mail_text("shed"), module_px=1)', "no mail address"),
        ("qr(wifi_text(), module_px=1)", "wifi_text"),
    ],
)
def test_faults_are_told(pressing: Pressing, call: str, words: str) -> None:
    with pytest.raises(SheetError, match=re.escape(words)) as caught:
        pressing(f"{{{{ {call} }}}}", panel="4.2in-400x300-black-white")
    assert caught.value.mend


def test_impressions_are_read_from_their_files(pressing: Pressing) -> None:
    made = pressing(LARGE % {"module": 2}, panel="4.2in-400x300-black-white-red")
    with Image.open(io.BytesIO(encode_png(made.impression))) as picture:
        assert ADDRESS in read(np.asarray(picture.convert("RGB"))).values()


def test_the_docs_picture_can_be_scanned() -> None:
    """What the page of reference shows is what readers read: three QR codes and three bar codes."""
    with Image.open(ROOT / "docs" / "pictures" / "codes.png") as picture:
        pixels = np.asarray(picture.convert("RGB"))
    large = np.repeat(np.repeat(pixels, 2, axis=0), 2, axis=1)
    assert {found.text for found in zxingcpp.read_barcodes(large)} == {
        "WIFI:T:WPA;S:Hut;P:fair wind;;",
        "https://hut.example/rota",
        "geo:50.31,-4.05",
        "Hut 0042",
        "4006381333931",
        "(01)09501101530003(17)261231(10)7",
    }

"""Pictures in sheets: from folders and albums, cut, toned, framed and captioned, on the impression."""

import io
import re
from datetime import UTC, date, datetime

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from tests.sheets.pressing import Pressing
from wallbill.errors import SheetError
from wallbill.facts.album import Album, Shot
from wallbill.facts.origin import Origin
from wallbill.facts.supply import Supplied
from wallbill.sheets.making import Made

PANEL = "4.2in-400x300-black-white"
NOW = datetime(2026, 3, 14, 8, tzinfo=UTC)


def quay(width: int = 400, height: int = 200, *, kind: str = "PNG", exif: Image.Exif | None = None) -> bytes:
    """A picture white on its left half and black on its right."""
    picture = np.full((height, width), 255, dtype=np.uint8)
    picture[:, width // 2 :] = 0
    out = io.BytesIO()
    Image.fromarray(picture).save(out, kind, **({"exif": exif} if exif else {}))
    return out.getvalue()


def dark(made: Made) -> NDArray[np.bool_]:
    names = [ink.name for ink in made.impression.inks]
    found: NDArray[np.bool_] = made.impression.codes == names.index("black")
    return found


def sheet(call: str) -> str:
    return f'<body><div style="position:absolute;left:0;top:0">{{{{ {call} }}}}</div></body>'


ADDRESS = '[sources.view]\nkind = "pictures"\nurl = "https://hut.example/view.png"\n'


def album(data: bytes) -> Supplied:
    """An album with one picture that came from an address."""
    shot = Shot("view.png", "Low water", date(2026, 3, 1), data)
    origin = Origin("view", "hut.example", "", NOW, NOW)
    return Supplied("view", "pictures", Album(origin, "View", (shot.name,), (shot,)))


def test_the_whole_box_and_nothing_else(pressing: Pressing) -> None:
    made = pressing(
        sheet('picture("quay.png", width_px=100, height_px=60, tone="as-is")'),
        panel=PANEL,
        pictures={"quay.png": quay()},
    )
    found = dark(made)
    assert found[:60, 54:100].mean() > 0.99  # a windowed sinc rings a little beside an edge
    assert found[:60, :46].mean() < 0.01
    assert not found[60:].any()
    assert not found[:, 100:].any()
    assert made.pressed.picture[:60, :100].any()


@pytest.mark.parametrize(("subject", "share"), [((0.0, 0.5), 0.0), ((0.9, 0.0, 0.1, 1.0), 1.0)])
def test_the_subject_is_in_sight(pressing: Pressing, subject: tuple[float, ...], share: float) -> None:
    call = f'picture("quay.png", width_px=50, height_px=100, subject={subject}, tone="as-is")'
    found = dark(pressing(sheet(call), panel=PANEL, pictures={"quay.png": quay()}))
    assert found[:100, :50].mean() == share


def test_pictures_of_an_address_are_found_as_shots_by_name_and_by_elements(pressing: Pressing) -> None:
    calls = (
        'picture(facts.view.today(now), width_px=100, height_px=50, tone="as-is")',
        'picture(facts.view, width_px=100, height_px=50, tone="as-is")',
        'picture(facts.view.today(now).name, width_px=100, height_px=50, tone="as-is")',
    )
    sheets = [
        *map(sheet, calls),
        '<body><img style="position:absolute;left:0;top:0;width:100px;height:50px" src="pictures/{{ facts.view.today(now).name }}"></body>',
    ]
    for each in sheets:
        made = pressing(each, panel=PANEL, tables=ADDRESS, sources={"view": album(quay(100, 50))})
        assert dark(made)[:50, 51:100].mean() > 0.98, each
        assert not dark(made)[:50, :49].any(), each


def test_a_file_goes_before_a_fetched_picture_of_its_name(pressing: Pressing) -> None:
    white = io.BytesIO()
    Image.new("L", (10, 10), 255).save(white, "PNG")
    made = pressing(
        sheet('picture("view.png", width_px=100, height_px=50, tone="as-is")').replace("</body>", "x</body>"),
        panel=PANEL,
        pictures={"view.png": white.getvalue()},
        tables=ADDRESS,
        sources={"view": album(quay())},
    )
    assert not dark(made)[:50, 20:100].any()


def test_captions(pressing: Pressing) -> None:
    call = "picture(facts.view, width_px=200, height_px=120, caption=true, caption_px=14%s)"
    made = pressing(sheet(call % ""), panel=PANEL, tables=ADDRESS, sources={"view": album(quay())})
    # Shot's caption and the date in the wall's language; also the text alternative.
    assert re.findall(r'<div class="wb-caption"[^>]*><div>(.*?)</div>', made.html) == [
        "Low water, 1 Mar 2026"
    ]
    assert 'alt="Low water, 1 Mar 2026"' in made.html
    strip = 18 + 6
    assert dark(made)[: 120 - strip, 110:198].all()
    assert 0 < dark(made)[120 - strip : 120, :200].mean() < 0.3
    over = pressing(
        sheet(call % ', caption_at="over"'), panel=PANEL, tables=ADDRESS, sources={"view": album(quay())}
    )
    assert dark(over)[:120, 190:200].all()  # the label is no wider than its words
    assert not dark(over)[100:103, 2:90].any()


def test_a_pictures_own_date_and_turn(pressing: Pressing) -> None:
    """Exif (CIPA DC-008, from memory): 274 orientation, 6 is to be turned clockwise; 270 words; 36867 when it was taken."""
    exif = Image.Exif()
    exif[274], exif[270] = 6, "Slipway"
    exif.get_ifd(34665)[36867] = "2025:07:02 18:30:00"
    data = quay(100, 100, kind="JPEG", exif=exif)
    made = pressing(
        sheet(
            'picture("quay.jpg", width_px=100, height_px=100, caption=true, caption_at="over", caption_px=12, tone="as-is")'
        ),
        panel=PANEL,
        pictures={"quay.jpg": data},
    )
    assert "Slipway, 2 Jul 2025" in made.html
    assert not dark(made)[:48, :100].any()  # what was the left is above
    assert dark(made)[52:78, :100].mean() > 0.99


def test_long_captions_end_in_an_ellipsis_and_never_leave_the_picture(pressing: Pressing) -> None:
    words = "The oldest boat of the harbour at her mooring before the storm of last winter"
    for lines in (1, 2, 3):
        call = f'picture("quay.png", width_px=150, height_px=140, caption="{words}", caption_px=14, caption_lines={lines})'
        made = pressing(sheet(call), panel=PANEL, pictures={"quay.png": quay()})
        rows = re.findall(r"<div>([^<]*)</div>", made.html)
        assert len(rows) == lines
        assert rows[-1].endswith("…")
        assert " ".join(rows).removesuffix("…") in words + " "
        assert not dark(made)[:140, 150:].any()
        assert not dark(made)[140:].any()
        assert not [f for f in made.findings if f.rule == "press.overflow"]


def test_frames_and_round_corners_are_whole_pixels(pressing: Pressing) -> None:
    white = io.BytesIO()
    Image.new("L", (60, 60), 255).save(white, "PNG")
    call = 'picture("a.png", width_px=60, height_px=60, round_px=30, frame_px=2)'
    made = pressing(sheet(call), panel="7.3in-800x480-six-inks", pictures={"a.png": white.getvalue()})
    found = dark(made)[:60, :60]
    assert set(np.unique(made.impression.codes).tolist()) <= {
        place for place, ink in enumerate(made.impression.inks) if ink.name in {"black", "white"}
    }
    assert (found == found[::-1]).all()
    assert (found == found.T).all()
    assert not found[:8, :8].any()  # outside of the circle
    assert found[30, :2].all()
    assert not found[10:50, 10:50].any()
    # A ring of 2 px around a disc of 30: 3.1416 * (30² - 28²) = 364 pixels.
    assert found.sum() == pytest.approx(364, rel=0.1)


def test_gaps(pressing: Pressing) -> None:
    html = pressing("<p>x</p>{{ picture(none, width_px=90, height_px=40) }}", panel=PANEL).html
    assert 'class="wb-gap" style="width:90px;height:40px' in html


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ('picture("key.png", width_px=9, height_px=9)', "no picture 'key.png'"),
        ("picture(7, width_px=9, height_px=9)", "not a number"),
        ('picture("quay.png", width_px=0, height_px=9)', "at least one pixel"),
        ('picture("quay.png", width_px=9, height_px=9, fit="fill")', "not by 'fill'"),
        ('picture("quay.png", width_px=9, height_px=9, tone="bright")', "no tone 'bright'"),
        ('picture("quay.png", width_px=9, height_px=9, subject=(2, 2))', "does not lie in its picture"),
        ('picture("quay.png", width_px=9, height_px=9, frame=1)', "takes no 'frame'"),
        ('picture("quay.png", width_px=9, height_px=9, frame_px=-1)', "frame_px is a number of pixels"),
        (
            'picture("quay.png", width_px=90, height_px=20, caption="a", caption_px=14)',
            "no room beside a caption",
        ),
        ('picture("quay.png", width_px=90, height_px=90, caption="a", caption_at="beside")', "under or over"),
        ('picture("quay.png", width_px=90, height_px=90, caption="a", caption_px=0)', "at least one line"),
    ],
)
def test_faults_are_told(pressing: Pressing, call: str, words: str) -> None:
    with pytest.raises(SheetError, match=re.escape(words)) as caught:
        pressing(sheet(call), panel=PANEL, pictures={"quay.png": quay()})
    assert caught.value.mend

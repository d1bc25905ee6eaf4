"""The shelf: reading files, whole and damaged, and choosing the face that answers."""

import gzip
import io
import struct
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.faces.drawn import shelf
from tests.faces.made import bdf, box_face, saved
from wallbill.errors import FaceError
from wallbill.faces.reading import read_faces
from wallbill.faces.shelf import Axis, FaceFile, Shelf
from wallbill.faces.shell import load_shelf


def test_what_is_packaged() -> None:
    families = shelf().families()
    for family in (
        "Noto Sans",
        "Noto Serif",
        "JetBrains Mono",
        "Inter",
        "Noto Sans Arabic",
        "Noto Sans Hebrew",
        "Noto Emoji",
    ):
        assert family in families
    text = shelf().matching(("Noto Sans",), 400, italic=False)[0]
    # The face's own fvar table (OpenType): weight 100 to 900, width 62.5 to 100 percent.
    assert text.axes == (Axis("wght", 100, 400, 900), Axis("wdth", 62.5, 100, 100))
    assert not text.italic
    assert shelf().matching(("Noto Sans",), 400, italic=True)[0].italic


def test_coverage() -> None:
    text = shelf().matching(("Noto Sans",), 400, italic=False)[0]
    assert ord("a") in text.coverage
    assert ord("→") not in text.coverage
    assert len(text.coverage) == len(list(text.coverage)) > 3000
    assert text.covered("aж→") == {"a", "ж"}


def _face(family: str, weight: int, *, italic: bool = False) -> FaceFile:
    return FaceFile(f"{family}-{weight}{italic}", b"", 0, family, weight, italic, f"{family}{weight}{italic}")


# CSS Fonts Level 4, 5.2, font style matching: which weight answers for which.
@pytest.mark.parametrize(
    ("asked", "there", "answers"),
    [
        (400, (300, 500, 700), 500),
        (400, (300, 700), 300),
        (450, (400, 600), 400),
        (500, (400, 600), 400),
        (500, (600, 700), 600),
        (300, (200, 400), 200),
        (300, (400, 500), 400),
        (600, (500, 700), 700),
        (600, (400, 500), 500),
        (900, (400, 700), 700),
    ],
)
def test_weights_are_matched_as_css_does(asked: int, there: tuple[int, ...], answers: int) -> None:
    own = Shelf(tuple(_face("A", weight) for weight in there))
    assert own.matching(("A",), asked, italic=False)[0].weight == answers


def test_slant_comes_before_weight() -> None:
    own = Shelf((_face("A", 700), _face("A", 400, italic=True)))
    assert own.matching(("A",), 700, italic=True)[0].italic
    assert not own.matching(("A",), 400, italic=False)[0].italic


def test_asked_families_come_before_fallbacks_and_none_comes_twice() -> None:
    own = Shelf((_face("A", 400), _face("B", 400), _face("C", 400)), ("C", "A"), {"serif": "B"})
    assert [face.family for face in own.matching(("b", "Nowhere", "serif"), 400, italic=False)] == [
        "B",
        "C",
        "A",
    ]
    assert own.holds("SERIF")
    assert not own.holds("Nowhere")


def test_widths_by_name() -> None:
    # OpenType, OS/2 table, usWidthClass: condensed is 75 percent of normal.
    face = shelf().matching(("Noto Sans Condensed",), 400, italic=False)[0]
    assert face.family == "Noto Sans"
    assert dict(face.pinned) == {"wdth": 75.0}


def test_own_faces_stand_before_packaged_ones(tmp_path: Path) -> None:
    (tmp_path / "deeper").mkdir()
    (tmp_path / "deeper" / "own.ttf").write_bytes(saved(box_face("Noto Sans")))
    (tmp_path / "notes.txt").write_text("not a face")
    loaded = load_shelf((tmp_path, tmp_path / "not there"))
    assert loaded.matching(("Noto Sans",), 400, italic=False)[0].path.endswith("own.ttf")
    (tmp_path / "deeper" / "own.ttf").write_bytes(saved(box_face("Own")))
    assert "Own" in load_shelf((tmp_path,)).fallback


def test_an_unreadable_file_names_itself_and_the_mend(tmp_path: Path) -> None:
    broken = tmp_path / "broken.ttf"
    broken.write_bytes(saved(box_face())[:700])
    with pytest.raises(FaceError) as caught:
        load_shelf((tmp_path,))
    assert str(broken) in str(caught.value)
    assert "cut off" in str(caught.value)
    assert "mend: " in str(caught.value)


@pytest.mark.parametrize(
    "data",
    [b"", b"hello", b"wOF2" + bytes(60), b"wOFF" + bytes(60), b"\x1f\x8b\x08broken", b"STARTFONT 2.1\nnothing", b"\x01fcp" + bytes(20),
     b"ttcf" + bytes(4), b"\x00\x01\x00\x00" + bytes(8)],
)  # fmt: skip
def test_what_is_no_face_is_an_error(data: bytes) -> None:
    with pytest.raises(FaceError, match="not a face that can be read"):
        read_faces("x.ttf", data)


SOUND = saved(box_face())


@given(st.integers(0, len(SOUND) - 1), st.integers(0, 255))
@settings(max_examples=200, deadline=None)
def test_a_changed_byte_is_read_or_refused(place: int, value: int) -> None:
    changed = SOUND[:place] + bytes([value]) + SOUND[place + 1 :]
    try:
        faces = read_faces("x.ttf", changed)
    except FaceError:
        return
    assert all(isinstance(face.family, str) for face in faces)


@given(st.integers(0, len(SOUND) - 5))  # the last table may be padded by up to three bytes
@settings(max_examples=60, deadline=None)
def test_a_cut_off_file_is_refused(length: int) -> None:
    with pytest.raises(FaceError):
        read_faces("x.ttf", SOUND[:length])


def test_woff_is_unwrapped() -> None:
    font = TTFont(io.BytesIO(SOUND))
    font.flavor = "woff"
    out = io.BytesIO()
    font.save(out)
    faces = read_faces("own.woff", out.getvalue())
    assert [face.family for face in faces] == ["Boxes"]


def test_collections_give_each_face() -> None:
    # OpenType, collections: a TTC header with the offset of each face's table directory.
    def moved(data: bytes, by: int) -> bytes:
        count = struct.unpack(">H", data[4:6])[0]
        out = bytearray(data)
        for at in range(12, 12 + 16 * count, 16):
            struct.pack_into(">I", out, at + 8, struct.unpack_from(">I", data, at + 8)[0] + by)
        return bytes(out)

    first, second = saved(box_face("One")), saved(box_face("Two"))
    head = 12 + 8
    data = b"ttcf" + struct.pack(">HHI2I", 1, 0, 2, head, head + len(first))
    data += moved(first, head) + moved(second, head + len(first))
    assert [(face.family, face.index) for face in read_faces("both.ttc", data)] == [("One", 0), ("Two", 1)]


def test_gzipped_bitmap_faces() -> None:
    assert read_faces("tiny.bdf.gz", gzip.compress(bdf()))[0].family == "Tiny"

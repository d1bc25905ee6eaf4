"""Code 128: the table of a library of other authors, a reader of other authors, and a search through all encodings."""

import heapq
from collections.abc import Iterator
from itertools import groupby

import barcode
import numpy as np
import pytest
import zxingcpp
from barcode.charsets import code128 as oracle
from hypothesis import given
from hypothesis import strategies as st
from tests.golden import check_golden

from wallbill.blocks.codes.code128 import FNC1, QUIET_MODULES, check_character, code128, encode
from wallbill.blocks.codes.ean import check_digit, ean13
from wallbill.blocks.codes.gs1 import gs1_128
from wallbill.blocks.codes.linear import Bars, BarSize, bar_code, bar_drawing, module_of, type_px
from wallbill.blocks.drawing.grid import INK, PAPER
from wallbill.blocks.drawing.palette import Palette
from wallbill.errors import SheetError

GOODS = "4006381333931"  # a number with a right check digit: a worked example, from memory


class Even:
    """A ruler by which every letter is as wide as a share of its size."""

    def __init__(self, ems: float = 0.6) -> None:
        self._ems = ems

    def width_px(self, text: str, *, size_px: int, role: str = "") -> int:
        return int(self._ems * size_px * len(text)) + 1


RULER = Even()


def read(bars: Bars, *, module_px: int = 2) -> zxingcpp.Barcode:
    """What a reader finds in the bars."""
    codes = bar_drawing(bars, BarSize(40, module_px=module_px, label_px=0), ruler=RULER).grid.codes
    (found,) = zxingcpp.read_barcodes(np.where(codes == INK, 0, 255).astype(np.uint8))
    return found


def moves(row: tuple[int, ...], at: int, name: str) -> Iterator[tuple[int, tuple[int, str]]]:
    """What can be done at a place of the row in a set, and how many characters it costs: the standard's rules once more."""
    yield from ((1, (at, other)) for other in "ABC")
    if at == len(row):
        return
    holds = {"A": row[at] < 96, "B": row[at] >= 32, "C": False}
    if row[at] == FNC1 or holds[name]:
        yield 1, (at + 1, name)
    elif name != "C" and holds["B" if name == "A" else "A"]:
        yield 2, (at + 1, name)
    if name == "C" and all(48 <= code <= 57 for code in row[at : at + 2]) and at + 2 <= len(row):
        yield 1, (at + 2, name)


def fewest(row: tuple[int, ...]) -> int:
    """Characters of the shortest encoding, start included: Dijkstra's search through all of them."""
    heap = [(1, (0, name)) for name in "ABC"]
    done: set[tuple[int, str]] = set()
    while True:
        cost, state = heapq.heappop(heap)
        if state[0] == len(row):
            return cost
        if state not in done:
            done.add(state)
            for more, following in moves(row, *state):
                heapq.heappush(heap, (cost + more, following))


def test_every_pattern_is_the_librarys() -> None:
    # python-barcode holds the standard's table, one string of modules a value: of pairs of digits every one is drawn.
    for value in range(100):
        dark = code128(f"{value:02}" * 2).dark[11:22]
        assert "".join("1" if one else "0" for one in dark) == oracle.CODES[value]
    for letters in ("AAAA", "aaaa", "\t\t\t\t"):  # and the starts
        symbols = encode(tuple(map(ord, letters)))
        dark = code128(letters).dark[:11]
        assert "".join("1" if one else "0" for one in dark) == oracle.CODES[symbols[0]]


# Of letters, digits and control characters in such shares that sets have to be changed.
MIXED = st.lists(
    st.one_of(st.sampled_from("0123456789"), st.sampled_from("AZ az~"), st.sampled_from("\n\t\x00")),
    min_size=1,
    max_size=24,
).map("".join)


@given(MIXED)
def test_no_encoding_is_shorter(text: str) -> None:
    row = tuple(map(ord, text))
    assert len(encode(row)) - 1 == fewest(row)


@given(st.text(st.characters(max_codepoint=127), min_size=1, max_size=30))
def test_any_ascii_is_read_back(text: str) -> None:
    found = read(code128(text))
    assert bytes(found.bytes) == text.encode()
    assert found.format == zxingcpp.BarcodeFormat.Code128


@pytest.mark.parametrize(
    ("text", "symbols"),
    [
        # By hand from the standard's rules: start C, 12, 34; start B, three letters, C only where it pays.
        ("1234", (105, 12, 34)),
        ("AB1234", (104, 33, 34, 99, 12, 34)),
        ("A12B", (104, 33, 17, 18, 34)),
        ("A1234B", (104, 33, 17, 18, 19, 20, 34)),
        ("A123456B", (104, 33, 99, 12, 34, 56, 100, 34)),
        ("a\tb", (104, 65, 98, 73, 66)),
        ("\t\tb", (103, 73, 73, 100, 66)),
    ],
)
def test_the_fewest_characters(text: str, symbols: tuple[int, ...]) -> None:
    assert len(encode(tuple(map(ord, text)))) == len(symbols) + 1
    assert encode(tuple(map(ord, text)))[:-1] == symbols


def test_the_check_character() -> None:
    # A worked example of handbooks: "PJJ123C" from start A has the check character 54.
    assert check_character((103, 48, 42, 42, 17, 18, 19, 35)) == 54


def test_never_longer_than_the_librarys() -> None:
    # Not where a text begins with two digits and no more: the library (0.16.1) then loses them.
    for text in ("Boat 0042", "HELLO", "12345", "x1234567", "A1", "boats 99"):
        theirs = barcode.get("code128", text).build()[0]
        assert len(code128(text).dark) <= len(theirs)


def test_quiet_zones_and_sizes() -> None:
    bars = code128("Boat 42")
    for size in (
        BarSize(60, module_px=2),
        BarSize(60, width_px=bars.modules * 2 + 1),
        BarSize(60, width_px=400),
    ):
        grid = bar_drawing(bars, size, ruler=RULER).grid
        module = module_of(bars, size)
        assert grid.size == (size.width_px or bars.modules * module, 60)
        assert set(np.unique(grid.codes).tolist()) == {INK, PAPER}
        columns = np.flatnonzero((grid.codes == INK).any(axis=0))
        assert min(columns[0], grid.width_px - 1 - columns[-1]) >= QUIET_MODULES * module
        runs = [len(list(run)) for _, run in groupby(grid.codes[0, columns[0] : columns[-1] + 1])]
        assert all(run % module == 0 for run in runs)


def test_type_gets_smaller_to_fit_and_is_left_out_where_it_cannot() -> None:
    bars = code128("12345678")  # set C: 4 pairs
    size = BarSize(60, module_px=1, label_px=40)
    assert type_px(bars, size, ruler=RULER) == 16  # 0.6 * 16 * 8 + 1 = 77 of 79 px
    assert type_px(bars, size, ruler=Even(3.0)) == 0
    drawing = bar_drawing(bars, size, ruler=Even(3.0))
    assert not drawing.labels
    assert (drawing.grid.codes[-1] == INK).any()  # the bars take the room
    with_type = bar_drawing(bars, size, ruler=RULER)
    (label,) = with_type.labels
    assert label.text == "12345678"
    assert not (with_type.grid.codes[label.box[1] :] == INK).any()
    assert label.box[1] + label.box[3] == 60


def test_dark_on_light_on_any_palette() -> None:
    palette = Palette(ink="#ffffff", paper="#000000", accent="#ff0000", smooth=True)
    html = str(bar_code(code128("a<b"), BarSize(40, module_px=1), palette=palette, ruler=RULER))
    assert "color:#000000" in html
    assert "a&lt;b" in html
    assert "a<b" not in html


def test_ean_is_the_librarys() -> None:
    for number in (
        "400638133393",
        "978030640615",
        "000000000000",
        *(f"{first}12345678901" for first in range(10)),
    ):
        (theirs,) = barcode.get("ean13", number).build()
        assert "".join("1" if dark else "0" for dark in ean13(number).dark) == theirs
        assert read(ean13(number)).text == number + str(check_digit(number))


def test_check_digits() -> None:
    # ISBN-13 manual: 978-0-306-40615-7; GS1: 629104150021 has 3 (both worked examples, from memory).
    assert check_digit("978030640615") == 7
    assert check_digit("629104150021") == 3
    assert ean13("978-0-306-40615-7").text == "9780306406157"
    with pytest.raises(SheetError, match="would be 7"):
        ean13("9780306406158")
    with pytest.raises(SheetError, match="13 digits"):
        ean13("12345")


def test_gs1_elements() -> None:
    found = read(gs1_128("(01)09501101530003(10)AB-12(17)261231"))
    assert found.format == zxingcpp.BarcodeFormat.Code128
    assert found.content_type == zxingcpp.ContentType.GS1
    assert found.text == "(01)09501101530003(10)AB-12(17)261231"
    # A lot number is of any length: what follows it is parted from it by FNC1, which readers hand on as GS.
    assert bytes(found.bytes) == b"010950110153000310AB-12\x1d17261231"
    assert bytes(read(gs1_128("(17)261231(10)7")).bytes) == b"17261231107"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("09501101530003", "no row of GS1 elements"),
        ("(01)0950110153000", "14 digits"),
        ("(01)09501101530004", "would be 3"),
        ("(10)" + "x" * 47, "48 characters"),
    ],
)
def test_wrong_elements_are_told(text: str, words: str) -> None:
    with pytest.raises(SheetError, match=words) as caught:
        gs1_128(text)
    assert caught.value.mend


def test_what_no_bars_can_hold() -> None:
    with pytest.raises(SheetError, match="no text"):
        code128("")
    with pytest.raises(SheetError, match="'é'"):
        code128("café")


def test_bars_golden() -> None:
    """Code 128, GS1 and EAN-13 below one another; the tall bars of the EAN reach down beside its figures."""
    size = BarSize(40, width_px=260, label_px=10)
    drawn = [
        bar_drawing(bars, size, ruler=RULER).grid.codes
        for bars in (code128("Hut 0042"), gs1_128("(17)261231(10)7"), ean13(GOODS))
    ]
    check_golden("bar-codes", (np.concatenate(drawn) == INK).astype(np.uint8), ((255, 255, 255), (0, 0, 0)))

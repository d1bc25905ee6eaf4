"""Tables laid out with a ruler that needs no face: shares of width, rows by height, groups, what is left over."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.blocks.tables.makings import room

from wallbill.blocks.tables.spec import Align, Column, Wish, column_of, shared_widths
from wallbill.blocks.tables.table import Layout, Row, lay_table
from wallbill.blocks.tables.values import keys_of, values_under, whole_part
from wallbill.blocks.tables.words import more_text
from wallbill.errors import SheetError

CELLS = st.text(st.sampled_from("ab cd,…é1.\u0301ש日"), max_size=30)


def columns(*texts: str, **how: object) -> tuple[Column, ...]:
    return tuple(Column(at, str, head=text, **how) for at, text in enumerate(texts))  # type: ignore[arg-type]  # by name


def texts_of(layout: Layout) -> list[tuple[str, ...]]:
    return [tuple(" / ".join(cell.lines) for cell in row.cells) for row in layout.rows]


@given(
    st.lists(
        st.builds(
            Wish, st.integers(0, 300), st.integers(0, 300), st.integers(0, 3), st.booleans(),
            st.none() | st.integers(0, 300),
        ),
        min_size=1, max_size=8,
    ),
    st.integers(1, 800), st.integers(0, 20),
)  # fmt: skip
def test_shares_never_exceed_the_whole(wishes: list[Wish], width_px: int, gap_px: int) -> None:
    widths = shared_widths(wishes, width_px, gap_px=gap_px)
    kept = [width for width in widths if width is not None]
    assert kept
    assert sum(kept) + gap_px * (len(kept) - 1) <= width_px
    assert all(width >= 0 for width in kept)
    if sum(w.natural_px for w in wishes) + gap_px * (len(wishes) - 1) <= width_px:
        assert None not in widths
        assert all(w is not None and w >= wish.natural_px for w, wish in zip(widths, wishes, strict=True))


def test_the_lowest_priority_gives_way_first_and_then_goes() -> None:
    wishes = [Wish(100, 40, 2), Wish(100, 40, 1), Wish(60, 60, 3)]
    assert shared_widths(wishes, 280, gap_px=10) == (100, 100, 60)
    assert shared_widths(wishes, 240, gap_px=10) == (100, 60, 60)
    assert shared_widths(wishes, 200, gap_px=10) == (80, 40, 60)
    assert shared_widths(wishes, 150, gap_px=10) == (80, None, 60)
    assert shared_widths(wishes, 100, gap_px=10) == (None, None, 60)
    assert shared_widths(wishes, 30, gap_px=10) == (None, None, 30)
    assert shared_widths([Wish(50, 50), Wish(20, 20, grow=True)], 100, gap_px=10) == (50, 40)
    # A column that wraps gives up what breaking saves before a letter is cut elsewhere.
    assert shared_widths([Wish(200, 40, 9, snug_px=110), Wish(60, 20)], 190, gap_px=10) == (120, 60)


ROWS = st.lists(st.tuples(CELLS, CELLS, CELLS, st.sampled_from(["", "Today", "Sunday"])), max_size=14)


@given(
    ROWS,
    st.integers(1, 400),
    st.integers(1, 260),
    st.sampled_from([("What", "Where", "n"), ("", "", "")]),
    st.integers(1, 3),
)
def test_any_rows_fit_any_box(
    given_rows: list[tuple[str, str, str, str]],
    width_px: int,
    height_px: int,
    names: tuple[str, str, str],
    wrap: int,
) -> None:
    rows = [Row(texts[:3], group=texts[3]) for texts in given_rows]
    wanted = columns(*names, wrap=wrap)
    layout = lay_table(rows, wanted, room(width_px, height_px))
    assert len(layout.rows) + layout.hidden == len(rows)
    ends = [row.top_px + row.height_px for row in layout.rows] + [layout.head_px]
    assert max(ends) <= height_px
    assert all(
        left >= 0 and left + width <= width_px
        for left, width in zip(layout.lefts_px, layout.widths_px, strict=True)
        if width is not None
    )
    if layout.more is not None:
        assert str(layout.hidden) in layout.more[0]
        assert layout.more[1] + room(1, 1).pitch_px <= height_px
    for row in layout.rows:
        for cell, width, value in zip(row.cells, layout.widths_px, row.row.values, strict=True):
            if width is None:
                assert cell.lines == ()
                continue
            assert all(7 * len(line) <= width for line in cell.lines)
            whole = " ".join(value.split())
            cut = "".join(cell.lines).replace(" ", "") != whole.replace(" ", "")
            assert (
                cut == (any("…" in line for line in cell.lines) and "…" not in whole)
                or "…" in whole
                or not all(cell.lines)  # not even the dots have room
            )
    for _, top in layout.groups:
        assert any(row.top_px == top + room(1, 1).pitch_px for row in layout.rows), "a heading stands alone"


def test_rows_by_height_and_what_is_left_over() -> None:
    rows = [Row((f"row {at}",)) for at in range(10)]
    layout = lay_table(rows, columns(""), room(200, 14 * 5 + 3))
    assert texts_of(layout) == [("row 0",), ("row 1",), ("row 2",), ("row 3",)]
    assert layout.more == ("and 6 more", 56)
    assert lay_table(rows[:5], columns(""), room(200, 14 * 5)).more is None
    own = lay_table(rows, columns(""), room(200, 70, more="{shown} of {of}"))
    assert own.more == ("4 of 10", 56)


def test_a_groups_heading_never_stands_alone() -> None:
    rows = [Row(("a",), group="Today"), Row(("b",), group="Today"), Row(("c",), group="Sunday")]
    for height_px in range(14, 120):
        layout = lay_table(rows, columns(""), room(200, height_px))
        assert len(layout.groups) == len({row.row.group for row in layout.rows})
    assert [name for name, _ in lay_table(rows, columns(""), room(200, 120)).groups] == ["Today", "Sunday"]


def test_numbers_stand_by_their_decimal_signs() -> None:
    rows = [Row((text,)) for text in ("3.5", "12.25", "1,012.4", "104", "–", "−0.75 m")]
    layout = lay_table(rows, (Column(0, str, numeric=True, align=Align.END),), room(200, 300))
    ends = [(row.cells[0].shift_px or 0) + 7 * whole_part(row.cells[0].lines[0], ".") for row in layout.rows]
    assert set(ends) == {(layout.widths_px[0] or 0) - 7 * len(".75 m")}


@pytest.mark.parametrize(
    ("text", "decimal", "expected"),
    [("−3.5 °C", ".", 2), ("12 km", ".", 2), ("1,012.4", ".", 5), ("1.012,4", ",", 5), ("–", ".", 1), ("7", ".", 1),
     ("1\u202f012,4", ",", 5), ("٣٫٥", "٫", 1), ("A 4", ".", 3)],
)  # fmt: skip
def test_the_whole_part_of_a_number(text: str, decimal: str, expected: int) -> None:
    assert whole_part(text, decimal) == expected


def test_columns_stand_from_the_right_where_the_language_does() -> None:
    layout = lay_table([Row(("א", "ב"))], columns("", ""), room(200, 50, language="he"))
    first, second = layout.lefts_px
    assert first > second
    assert first + (layout.widths_px[0] or 0) == 200


def test_wrapped_rows_are_as_high_as_their_lines() -> None:
    rows = [Row(("Repair the second pontoon", "now")), Row(("Tea", "now"))]
    wanted = (Column(0, str, wrap=3), Column(1, str, priority=2))
    layout = lay_table(rows, wanted, room(7 * 12 + 9 + 7 * 3, 200))
    assert texts_of(layout) == [("Repair the / second / pontoon", "now"), ("Tea", "now")]
    assert [row.height_px for row in layout.rows] == [14 + 2 * 12, 14]


@pytest.mark.parametrize(
    ("language", "count", "expected"),
    [("en-GB", 3, "and 3 more"), ("de", 1, "und noch 1"), ("de", 2, "und 2 weitere"), ("fr-FR", 1, "et 1 autre"),
     ("fr-FR", 3, "et 3 autres"), ("fi", 5, "ja 5 muuta"), ("ru", 21, "и ещё 21"), ("eo", 4, "+4"),
     ("ar-EG", 12, "و١٢ أخرى"), ("en", 1200, "and 1,200 more")],
)  # fmt: skip
def test_more_in_the_words_of_the_language(language: str, count: int, expected: str) -> None:
    # From memory; plural forms by the CLDR.
    assert more_text(count, count + 2, room(1, 1, language=language).wording) == expected


def test_own_words_for_more_have_plural_forms() -> None:
    wording = room(1, 1).wording
    forms = {"one": "one boat left", "other": "{n} boats of {of} left"}
    assert more_text(1, 5, wording, words=forms) == "one boat left"
    assert more_text(4, 5, wording, words=forms) == "4 boats of 5 left"
    with pytest.raises(SheetError, match="cannot put"):
        more_text(4, 5, wording, words="{count} more")


def test_values_of_mappings_records_and_tuples() -> None:
    rows = [{"a": 1, "place": {"name": "Quay"}}, {"a": None}]
    assert values_under(rows, "a") == (1, None)
    assert values_under(rows, "place.name") == ("Quay", None)
    assert values_under([(1, 2), (3, 4)], 1) == (2, 4)
    assert values_under([Row((1,), group="x")], "group") == ("x",)
    assert keys_of(rows) == ("a", "place")
    assert keys_of([(1, 2)]) == (0, 1)
    assert keys_of([Row(())])[:2] == ("values", "group")
    assert keys_of(["a"]) == ()


@pytest.mark.parametrize(
    ("rows", "key", "mend"),
    [([{"summary": 1}], "sumary", "Did you mean 'summary'?"), ([Row(())], "grop", "Did you mean 'group'?"),
     ([(1, 2)], 5, "The rows have 0, 1."), ([{"a": {"bill": 1}}], "a.bil", "Did you mean 'bill'?"),
     ([{"a": 1}], "a.real.__class__", ""), (["text"], "upper", "")],
)  # fmt: skip
def test_a_key_that_no_row_has_is_told_with_the_near_one(
    rows: list[object], key: str | int, mend: str
) -> None:
    with pytest.raises(SheetError) as told:
        values_under(rows, key)
    assert told.value.mend == mend or not mend


@pytest.mark.parametrize(
    ("given", "said"),
    [({"key": "a", "hed": "A"}, "has no 'hed'"), ({"head": "A"}, "mapping with a key"), (3.5, "mapping with a key"),
     ({"key": "a", "align": "rigth"}, "align cannot be"), ({"key": "a", "wrap": 0}, "wraps to 1 to 12 lines"),
     ({"key": "a", "most": "wide"}, "most is a number"), ({"key": "a", "cut": "start"}, "cut cannot be")],
)  # fmt: skip
def test_what_a_column_cannot_be_is_told(given: object, said: str) -> None:
    with pytest.raises(SheetError, match=said):
        column_of(given, lambda asked: str)


def test_rows_that_are_not_shown_take_no_room_from_those_that_are() -> None:
    rows = [Row(("Regatta supper", "Hut")), Row(("Tea", "By the Sable Ferry landing")), Row(("Tea", "Hut"))]
    layout = lay_table(rows, columns("", ""), room(7 * 14 + 9 + 7 * 3, 28))
    assert texts_of(layout) == [("Regatta supper", "Hut")]
    assert layout.hidden == 2

"""Lists and fitted texts laid out with a ruler that needs no face."""

from hypothesis import given
from hypothesis import strategies as st
from tests.blocks.tables.makings import SEVEN, room

from wallbill.blocks.tables.cutting import Type
from wallbill.blocks.tables.listing import Item, ListSpec, Marks, lay_list
from wallbill.blocks.tables.texts import TextSpec, lay_text

TEXTS = st.text(st.sampled_from("ab cde\u0301ש日"), max_size=30)


def sized(size_px: int) -> Type:
    """Letters half as wide as their size."""
    return Type(lambda text: len(text) * size_px // 2)


@given(
    st.lists(TEXTS, max_size=20), st.integers(1, 300), st.integers(1, 200), st.integers(1, 3), st.integers(1, 3),
    st.sampled_from(Marks),
)  # fmt: skip
def test_any_items_fit_any_box(
    texts: list[str], width_px: int, height_px: int, columns: int, wrap: int, marks: Marks
) -> None:
    items = [Item(text, note="9 May" if len(text) % 2 else "") for text in texts]
    here = room(width_px, height_px)
    layout = lay_list(items, here, ListSpec(marks, columns, wrap))
    assert len(layout.items) + layout.hidden == len(items)
    assert [placed.item for placed in layout.items] == items[: len(layout.items)]
    places = set()
    for placed in layout.items:
        assert placed.top_px + here.rows_px(len(placed.lines)) <= height_px
        assert placed.left_px >= 0
        assert columns > 1 or placed.left_px + layout.column_px <= width_px
        assert (placed.left_px, placed.top_px) not in places
        places.add((placed.left_px, placed.top_px))
    if layout.more is not None:
        assert str(layout.hidden) in layout.more[0]
        assert layout.more[2] + here.pitch_px <= height_px
        assert (layout.more[1], layout.more[2]) not in places


def test_columns_are_even() -> None:
    items = [Item(f"thing {at}") for at in range(7)]
    layout = lay_list(items, room(300, 200), ListSpec(columns=3))
    lefts = [placed.left_px for placed in layout.items]
    assert [lefts.count(left) for left in sorted(set(lefts))] == [3, 3, 1]
    full = lay_list(items, room(300, 28), ListSpec(columns=2))
    assert len(full.items) == 3
    assert full.more is not None
    assert full.more[0] == "and 4 more"


def test_a_note_keeps_its_place_beside_the_first_line_only() -> None:
    layout = lay_list([Item("Varnish the sculls now", note="9 May")], room(7 * 16, 50), ListSpec(wrap=2))
    assert layout.items[0].lines == ("Varnish", "the sculls now")
    assert layout.items[0].note == "9 May"
    narrow = lay_list([Item("Varnish", note="9 May")], room(7 * 8, 50), ListSpec())
    assert narrow.items[0].note == ""


def test_a_text_takes_the_largest_size_at_which_it_fits() -> None:
    sizes = (10, 12, 16, 20, 24, 32)
    layout = lay_text("Ground frost", (120, 60), TextSpec(), sizes_px=sizes, kind_at=sized)
    assert (layout.size_px, layout.lines, layout.whole) == (24, ("Ground", "frost"), True)
    wide = lay_text("Ground frost", (1200, 30), TextSpec(), sizes_px=sizes, kind_at=sized)
    assert (wide.size_px, wide.lines) == (24, ("Ground frost",))
    cut = lay_text("Ground frost tonight", (40, 13), TextSpec(), sizes_px=sizes, kind_at=sized)
    assert (cut.size_px, cut.lines, cut.whole) == (10, ("Ground…",), False)
    assert lay_text("Frost", (100, 5), TextSpec(), sizes_px=sizes, kind_at=sized).lines == ()


@given(
    TEXTS, st.integers(10, 300), st.integers(5, 200), st.sampled_from([TextSpec(), TextSpec(balance=True)])
)
def test_a_fitted_text_never_leaves_its_box(text: str, width_px: int, height_px: int, spec: TextSpec) -> None:
    layout = lay_text(text, (width_px, height_px), spec, sizes_px=(10, 14, 20, 40), kind_at=sized)
    assert len(layout.lines) * layout.leading_px <= height_px
    measure = sized(layout.size_px).measure
    assert all(measure(line) <= width_px for line in layout.lines)
    bare = "".join(text.split())
    assert (
        layout.whole == ("".join("".join(layout.lines).split()) == bare and bool(layout.lines))
        or not layout.whole
    )


def test_balanced_lines_are_of_even_length() -> None:
    text = "take care on the slipway, the boards"
    plain = lay_text(text, (7 * 30, 50), TextSpec(), sizes_px=(10,), kind_at=lambda size_px: SEVEN)
    even = lay_text(text, (7 * 30, 50), TextSpec(balance=True), sizes_px=(10,), kind_at=lambda size_px: SEVEN)
    assert plain.lines == ("take care on the slipway, the", "boards")
    assert even.lines == ("take care on the", "slipway, the boards")


def test_a_word_too_long_at_every_size_is_split_at_the_largest_that_holds_it() -> None:
    word = "harbourmasters" * 3
    layout = lay_text(word, (100, 80), TextSpec(), sizes_px=(10, 12, 16, 20, 24, 32), kind_at=sized)
    assert layout.whole
    assert "".join(layout.lines) == word
    assert layout.size_px > 10
    assert len(layout.lines) * layout.leading_px <= 80

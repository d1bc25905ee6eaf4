"""What becomes of a pulled picture: news, the same, a minor change, a fault; and why, in words."""

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.inks.encoding import encode_png
from wallbill.inks.impression import Impression, frozen_codes
from wallbill.panels.model import Ink
from wallbill.server.editing import Look, Up, changed_outside, rest_edition, settle
from wallbill.server.model import Pulled
from wallbill.store.model import Edition, Impressed, Outcome, Why

AT = datetime(2026, 3, 14, 8, tzinfo=UTC)
INKS = (
    Ink("black", (0, 0, 0), (18.0, 0.0, 0.0)),
    Ink("white", (255, 255, 255), (66.0, 0.0, 0.0)),
    Ink("red", (255, 0, 0), (30.0, 40.0, 30.0)),
)
BLACK, WHITE, RED = range(3)
Part = tuple[int, int, int, int]
CLOCK: Part = (20, 2, 30, 6)


def page() -> np.ndarray[tuple[int, int], np.dtype[np.uint8]]:
    """A white page, 32 x 16, with a black word that is no clock."""
    codes = np.full((16, 32), WHITE, dtype=np.uint8)
    codes[10:12, 3:9] = BLACK
    return codes


def impressed(codes: np.ndarray[tuple[int, int], np.dtype[np.uint8]], *minor: Part) -> Impressed:
    made = Impression(frozen_codes(codes), INKS)
    height, width = codes.shape
    return Impressed(made.digest, "test", width, height, encode_png(made), minor)


def with_clock(*columns: int, part: Part = CLOCK) -> Impressed:
    """The page with a clock whose hand stands in these columns of its part."""
    codes = page()
    for column in columns:
        codes[part[1] : part[3], part[0] + column] = BLACK
    return impressed(codes, part)


def test_a_clock_that_moves_is_minor() -> None:
    assert not changed_outside(with_clock(1), with_clock(7))


def test_a_word_that_changes_is_not() -> None:
    codes = page()
    codes[10, 3] = WHITE
    codes[3, 22] = BLACK
    assert changed_outside(with_clock(1), impressed(codes, CLOCK))


def test_a_clock_that_grows_onto_bare_ground_is_minor() -> None:
    wider: Part = (17, 2, 30, 6)
    assert not changed_outside(with_clock(5), with_clock(0, part=wider))
    assert not changed_outside(with_clock(0, part=wider), with_clock(5))


def test_a_warning_in_the_clocks_place_is_news() -> None:
    """The clock has moved down, and a warning stands where it stood: in red ground, or in black letters."""
    below: Part = (20, 11, 30, 15)
    for ground, letters in ((RED, WHITE), (WHITE, BLACK)):
        codes = page()
        codes[2:6, 20:30] = ground
        codes[3:5, 22:26] = letters
        codes[11:15, 25] = BLACK
        assert changed_outside(with_clock(3), impressed(codes, below))
        assert changed_outside(impressed(codes, below), with_clock(3))


def test_pages_of_other_sizes_or_panels_differ() -> None:
    small = impressed(page()[:, :16], CLOCK)
    assert changed_outside(with_clock(1), small)


@given(
    changed=st.lists(st.tuples(st.integers(0, 31), st.integers(0, 15), st.integers(0, 2)), max_size=12),
    left=st.integers(0, 31), top=st.integers(0, 15), width=st.integers(1, 12), height=st.integers(1, 8),
)  # fmt: skip
def test_with_one_part_in_both_just_the_pixels_outside_count(
    *, changed: list[tuple[int, int, int]], left: int, top: int, width: int, height: int
) -> None:
    part = (left, top, left + width, top + height)
    codes = page()
    for x, y, ink in changed:
        codes[y, x] = ink
    outside = any(
        codes[y, x] != page()[y, x] and not (left <= x < left + width and top <= y < top + height)
        for x, y, _ in changed
    )
    assert changed_outside(impressed(page(), part), impressed(codes, part)) == outside


def pulled(
    impression: Impressed | None, *, sheet: str = "hall", by: str = "timetable", **more: Any
) -> Pulled:
    return Pulled(sheet, by, impression, **more)


LOOK = Look("hall", AT, "wall-1")
FIRST = with_clock(1)
UP = Up(
    Edition("hall", 4, FIRST.digest, AT - timedelta(hours=1), "hall", Why.FACTS, wall="wall-1", dated=(("club", "a"), ("sea", "a"))),
    FIRST,
)  # fmt: skip
OTHER = impressed(np.zeros((16, 32), dtype=np.uint8))


@pytest.mark.parametrize(
    ("made", "look", "why", "told"),
    [
        (pulled(OTHER, dated=(("club", "b"), ("sea", "a"))), LOOK, Why.FACTS, "newer: club"),
        (pulled(OTHER, stale=("sea",), dated=UP.edition.dated), LOOK, Why.FACTS, "stale: sea"),
        (pulled(OTHER, dated=UP.edition.dated), LOOK, Why.FACTS, "time has passed"),
        (pulled(OTHER, sheet="morning"), LOOK, Why.TIMETABLE, "sheet morning by the timetable"),
        (pulled(OTHER, sheet="gale", by="interrupt"), LOOK, Why.INTERRUPT, "sheet gale, as its interrupt holds"),
        (
            pulled(OTHER, sheet="rota", by="asked"),
            Look("hall", AT, "wall-1", datetime(2026, 3, 14, 18, tzinfo=UTC)),
            Why.ASKED,
            "somebody asked for sheet rota until 18:00",
        ),
        (pulled(OTHER, dated=UP.edition.dated), Look("hall", AT, "wall-2"), Why.WALL, "the wall was edited"),
        (
            pulled(OTHER, dated=(("club", "b"),)),
            Look("hall", AT, "wall-2"),
            Why.WALL,
            "the wall was edited; newer: club",
        ),
    ],
)  # fmt: skip
def test_news_says_why(made: Pulled, *, look: Look, why: Why, told: str) -> None:
    outcome, edition = settle(UP, made, look=look)
    assert outcome is Outcome.NEW
    assert edition is not None
    assert (edition.number, edition.why, edition.told) == (5, why, told)
    assert (edition.digest, edition.at, edition.sheet, edition.wall) == (
        OTHER.digest,
        AT,
        made.sheet,
        look.wall,
    )


def test_the_first_edition_is_number_one() -> None:
    outcome, edition = settle(None, pulled(FIRST), look=LOOK)
    assert outcome is Outcome.NEW
    assert edition is not None
    assert (edition.number, edition.why) == (1, Why.FIRST)


def test_what_is_no_news_leaves_what_is_up() -> None:
    assert settle(UP, pulled(FIRST), look=LOOK) == (Outcome.SAME, None)
    assert settle(UP, pulled(with_clock(8)), look=LOOK) == (Outcome.MINOR, None)
    assert settle(UP, pulled(None, fault="it broke"), look=LOOK) == (Outcome.FAILED, None)
    # The same pixels asked for, or by another sheet, are the same pixels: a refresh would show nothing.
    assert settle(UP, pulled(FIRST, sheet="rota", by="asked"), look=LOOK) == (Outcome.SAME, None)


def test_another_sheet_is_news_however_little_it_changes() -> None:
    outcome, _ = settle(UP, pulled(with_clock(8), sheet="rota"), look=LOOK)
    assert outcome is Outcome.NEW


def test_without_the_picture_that_is_up_nothing_is_minor() -> None:
    outcome, _ = settle(Up(UP.edition, None), pulled(with_clock(8)), look=LOOK)
    assert outcome is Outcome.NEW


def test_a_rested_panel_gets_the_same_picture_under_another_tag() -> None:
    rest = rest_edition(UP.edition, AT + timedelta(hours=23))
    assert (rest.number, rest.why, rest.digest, rest.told) == (
        5,
        Why.REST,
        FIRST.digest,
        "the panel had rested 24 h",
    )
    assert rest.tag != UP.edition.tag
    assert settle(Up(rest, FIRST), pulled(FIRST), look=LOOK) == (Outcome.SAME, None)

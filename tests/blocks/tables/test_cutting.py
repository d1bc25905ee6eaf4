"""Cutting and breaking texts. Outside references: Unicode Standard Annexes 14 and 29, as examples say."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.blocks.tables.makings import SEVEN

from wallbill.blocks.tables.cutting import Cut, Type, cut, graphemes, lines_of, one_line, runs_left

WORDS = st.text(
    st.sampled_from("ab cdé\u0301fg-/,.\xad שלם\u05b8 นี 日本👩\u200d👩\u200d👧🇮🇪\u0308"), max_size=60
)


def test_letters_are_grapheme_clusters() -> None:
    # UAX 29, rules GB9 (marks), GB11 (joined pictures), GB12 (flags), GB6 (Hangul).
    assert graphemes("e\u0301a👩\u200d👩\u200d👧🇮🇪각") == ("e\u0301", "a", "👩\u200d👩\u200d👧", "🇮🇪", "각")


@pytest.mark.parametrize(
    ("text", "letters", "expected"),
    [
        ("Harbour", 7, "Harbour"),
        ("Harbour", 6, "Harbo…"),
        ("Harbour committee", 16, "Harbour committ…"),
        ("Winter league third race", 16, "Winter league…"),  # a whole word leaves three quarters
        ("High water, 5 m", 13, "High water…"),  # no comma before the dots
        ("Harbour", 1, "…"),
        ("Harbour", 0, ""),
        ("e\u0301e\u0301e\u0301", 3, "e\u0301…"),
        ("Haupt\xadstraße", 8, "Hauptst…"),
    ],
)
def test_the_end_is_cut_at_a_letter_or_a_word(text: str, letters: int, expected: str) -> None:
    assert cut(text, 7 * letters, SEVEN) == expected


def test_paths_lose_their_middle() -> None:
    assert cut("/srv/harbour/tide.csv", 7 * 13, SEVEN, at=Cut.MIDDLE) == "/srv/h…de.csv"


def test_what_runs_left_is_cut_at_its_own_end() -> None:
    # UAX 9, N1: a neutral between letters of the right takes their direction; the mark makes it so at the end.
    assert cut("שלום עולם", 7 * 7, SEVEN) == "שלום…\N{RIGHT-TO-LEFT MARK}"
    assert runs_left("12 שלום")
    assert not runs_left("12 abc ש")
    assert not runs_left("12")


@given(WORDS, st.integers(0, 300), st.sampled_from(Cut))
def test_a_cut_text_never_is_too_wide_and_has_dots_only_if_cut(text: str, width_px: int, at: Cut) -> None:
    text = one_line(text)
    found = cut(text, width_px, SEVEN, at=at)
    assert SEVEN.measure(found) <= width_px
    assert (found == text) == (SEVEN.measure(text) <= width_px) or not text
    if found != text and found:
        assert "…" in found
        before = found.split("…")[0]
        plain = text.replace("\xad", "")
        assert plain.startswith(before)
        letters = graphemes(plain)
        prefixes = ("".join(letters[:count]) for count in range(len(letters)))
        assert any(
            prefix.startswith(before) and not prefix[len(before) :].strip(" -/,.") for prefix in prefixes
        ), "a letter was parted from its mark"


@pytest.mark.parametrize(
    ("text", "letters", "expected"),
    [
        ("Repair the second pontoon", 10, ("Repair the", "second", "pontoon")),
        ("a-b c/d", 2, ("a-", "b", "c/", "d")),
        ("5\N{NO-BREAK SPACE}m deep", 6, ("5\N{NO-BREAK SPACE}m", "deep")),  # UAX 14, GL
        ("Haupt\xadstraße", 8, ("Haupt-", "straße")),  # UAX 14, BA: a soft hyphen
        ("Haupt\xadstraße", 11, ("Hauptstraße",)),
        ("unbreakable", 5, ("unbre", "akabl", "e")),
        ("日本語、です。", 3, ("日本", "語、で", "す。")),  # UAX 14, CL: no line begins with a closing sign
        ("one\ntwo", 20, ("one", "two")),
        ("  a  \t b ", 20, ("a b",)),
        ("", 5, ("",)),
    ],
)
def test_lines_break_where_unicode_lets_them(text: str, letters: int, expected: tuple[str, ...]) -> None:
    assert lines_of(text, 7 * letters, Type(SEVEN.measure, "ja" if "日" in text else "en")) == expected


def test_thai_breaks_between_words_that_have_no_space() -> None:
    # UAX 14, SA: by a dictionary. "hello" and "people of the world", from memory.
    assert lines_of("สวัสดีชาวโลก", 7 * 7, Type(SEVEN.measure, "th")) == ("สวัสดี", "ชาวโลก")


def test_the_last_line_says_that_there_is_more() -> None:
    text = "Repair the second pontoon before the spring tide"
    assert lines_of(text, 7 * 12, SEVEN, most=2) == ("Repair the", "second pont…")
    assert lines_of("one\ntwo\nthree", 7 * 20, SEVEN, most=2) == ("one", "two …")
    assert lines_of("ab cd ef", 7 * 5, SEVEN, first_px=14) == ("ab", "cd ef")


@given(WORDS, st.integers(14, 300), st.integers(1, 4))
def test_no_line_is_too_wide_and_nothing_is_lost_without_dots(text: str, width_px: int, most: int) -> None:
    lines = lines_of(text, width_px, SEVEN, most=most)
    assert 1 <= len(lines) <= most
    for line in lines:
        assert SEVEN.measure(line) <= width_px
    shown = "".join(lines)
    if "…" not in shown:
        assert _bare(shown) == _bare(text)


def _bare(text: str) -> str:
    return "".join(sign for sign in text if sign not in " \xad-\n")

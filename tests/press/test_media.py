"""Media queries against Media Queries Level 4 and 5 (W3C): definitions and examples, sections named from memory."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.press.makings import SIXTEEN, THREE, TWO, greys

from wallbill.press.css import tokens_of
from wallbill.press.media import features_of, resolve_css, resolve_query

RED = features_of(THREE)
BLACK = features_of(TWO)
GREY = features_of(SIXTEEN)


@pytest.mark.parametrize(
    ("query", "three", "two", "sixteen"),
    [
        # Level 4, 5.4 update: "slow" is what the standard gives to electronic ink.
        ("(update: slow)", "all", "all", "all"),
        ("(update: fast)", "not all", "not all", "not all"),
        ("(update: none)", "not all", "not all", "not all"),
        ("(update)", "all", "all", "all"),
        # 6.3 monochrome: bits per pixel of the monochrome frame buffer, 0 if it is none.
        ("(monochrome)", "not all", "all", "all"),
        ("(monochrome: 0)", "all", "not all", "not all"),
        ("(monochrome: 1)", "not all", "all", "not all"),
        ("(monochrome: 4)", "not all", "not all", "all"),
        ("(min-monochrome: 2)", "not all", "not all", "all"),
        # 6.2 color-index: entries of the colour table, 0 if the device has none.
        ("(color-index)", "all", "not all", "not all"),
        ("(color-index: 3)", "all", "not all", "not all"),
        ("(color-index >= 3)", "all", "not all", "not all"),
        ("(min-color-index: 4)", "not all", "not all", "not all"),
        ("(color-index < 1)", "not all", "all", "all"),
        # 6.1 color: "(color)" and "(min-color: 1)" say the same (the section's first example).
        ("(color)", "all", "not all", "not all"),
        ("(min-color: 1)", "all", "not all", "not all"),
        ("(min-color: 2)", "not all", "not all", "not all"),
        # 7 interaction: nobody points at a panel.
        ("(hover)", "not all", "not all", "not all"),
        ("(hover: none)", "all", "all", "all"),
        ("(pointer)", "not all", "not all", "not all"),
        ("(any-pointer: none)", "all", "all", "all"),
        # Level 5: scripting and prefers-reduced-motion.
        ("(scripting)", "not all", "not all", "not all"),
        ("(scripting: none)", "all", "all", "all"),
        ("(prefers-reduced-motion)", "all", "all", "all"),
        ("(prefers-reduced-motion: no-preference)", "not all", "not all", "not all"),
        # 5.1 resolution: 1dppx is 96dpi.
        ("(resolution: 1dppx)", "all", "all", "all"),
        ("(resolution: 96dpi)", "all", "all", "all"),
        ("(min-resolution: 2x)", "not all", "not all", "not all"),
        ("(resolution < 38dpcm)", "all", "all", "all"),
        # 5.3 grid
        ("(grid: 0)", "all", "all", "all"),
        ("(grid)", "not all", "not all", "not all"),
    ],
)
def test_features(query: str, three: str, two: str, sixteen: str) -> None:
    assert [resolve_query(query, f) for f in (RED, BLACK, GREY)] == [three, two, sixteen]


@pytest.mark.parametrize(
    ("query", "left"),
    [
        # 2.4.3 range context; both ends at once, and a range whose signs disagree is no range
        ("(1 < color-index <= 3)", "all"),
        ("(3 > color-index > 1)", "not all"),
        ("(4 > color-index > 1)", "all"),
        ("(1 < color-index > 2)", "not all"),
        ("(3 = color-index)", "all"),
        ("(color-index = 3)", "all"),
        # 2.4.4: a bare min- or max- name is no query of its own
        ("(min-color-index)", "not all"),
        # 2.4: negative numbers are allowed where they are false of the device
        ("(min-color: -1)", "all"),
        ("(color: -1)", "not all"),
        # 2.2 combining: not, and, or, commas, only; not negates a whole query
        ("not (hover)", "all"),
        ("not all and (monochrome)", "all"),
        ("not screen and (color)", "not screen"),
        ("not screen and (monochrome)", "all"),
        ("only screen and (color)", "screen"),
        ("screen and (monochrome)", "not all"),
        ("print, (color)", "all"),
        ("print, (monochrome)", "print"),
        ("(color) and (hover: none)", "all"),
        ("(hover) or (pointer)", "not all"),
        ("(hover) or (not (pointer))", "all"),
        ("screen and not (pointer)", "screen"),
        # what the engine knows is left to it
        ("(width > 600px)", "(width > 600px)"),
        ("(update: slow) and (width > 600px)", "(width > 600px)"),
        ("(update: fast) and (width > 600px)", "not all"),
        ("(update: fast) or (width > 600px)", "(width > 600px)"),
        ("(update: slow) or (width > 600px)", "all"),
        ("(300px <= width <= 600px) and (color)", "(300px <= width <= 600px)"),
        ("(orientation: landscape)", "(orientation: landscape)"),
        ("not (orientation: landscape)", "not (orientation: landscape)"),
        ("not ((update: slow) and (width > 3px))", "not ((width > 3px))"),
        ("screen and (min-width: 300px) and (color)", "screen and (min-width: 300px)"),
        # 3 error handling is the engine's: an unknown feature stays as it is
        ("(weather: wet)", "(weather: wet)"),
        # no query at all always holds
        ("", "all"),
        ("  ", "all"),
        ("(COLOR)", "all"),
        ("(Update: SLOW)", "all"),
    ],
)
def test_queries(query: str, left: str) -> None:
    assert resolve_query(query, RED) == left


def test_a_style_keeps_its_lines_and_everything_else() -> None:
    css = (
        "a{b:c} /* @media (update: slow) { */\n@media\n (update: slow)\n and (min-width: 3px) {\n"
        "  a { content: '@media (color)' }\n  @media (monochrome) { x { y: z } }\n}\n"
        "p { @media (color) { font-size: 3px } }\n@supports (display: grid) { @media (hover) { q { r: s } } }"
    )
    done = resolve_css(css, RED)
    assert done.count("\n") == css.count("\n")
    assert "/* @media (update: slow) { */" in done
    assert "'@media (color)'" in done
    assert done.split("\n")[-1] == "@supports (display: grid) { @media not all { q { r: s } } }"
    assert "p { @media all { font-size: 3px } }" in done
    assert "@media not all { x { y: z } }" in done


def test_greys_count_whole_bits() -> None:
    assert [int(features_of(greys(n)).numbers["monochrome"]) for n in (2, 4, 8, 16)] == [1, 2, 3, 4]


_FEATURE = st.sampled_from(["(color)", "(hover)", "(update: slow)", "(monochrome)", "(color-index > 2)"])
_TRUE = {"(color)", "(update: slow)", "(color-index > 2)"}


@given(st.lists(_FEATURE, min_size=1, max_size=6), st.sampled_from(["and", "or"]), st.booleans())
def test_joined_features_are_joined_truth(parts: list[str], joint: str, negated: bool) -> None:  # noqa: FBT001 - given by hypothesis
    query = f" {joint} ".join(parts)
    truth = (all if joint == "and" else any)(part in _TRUE for part in parts)
    if negated:
        query, truth = f"not ({query})", not truth
    assert resolve_query(query, RED) == ("all" if truth else "not all")


@given(st.text(alphabet="@media(){}[]<>=:;,/*'\" \n\\andotrclwih3px", max_size=60))
def test_any_text_is_read(text: str) -> None:
    tokens_of(text)
    done = resolve_css(text, RED)
    if "@media" not in text.lower():
        assert done == text

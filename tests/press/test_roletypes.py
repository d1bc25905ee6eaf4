"""In what type a class is set, read from styles. Specificity and inheritance as in the standards that examples name."""

import pytest
from tests.press.makings import THREE, TWO

from wallbill.press.css import tokens_of
from wallbill.press.media import features_of
from wallbill.press.roletype import Length, RoleType
from wallbill.press.roletypes import read_roles, readable, static_style
from wallbill.press.selectors import Reach, reach_of, specificity


def only(css: str, role: str = "wb-axis") -> RoleType:
    """The type of a class of which the styles leave no doubt."""
    types = read_roles([css], features_of(TWO)).types(role)
    assert len(types) == 1, types
    return types[0]


def weights(css: str, role: str = "wb-axis") -> list[int]:
    return [kind.weight for kind in read_roles([css], features_of(TWO)).types(role)]


@pytest.mark.parametrize(
    ("selector", "expected"),
    [("*", (0, 0, 0)), ("li", (0, 0, 1)), ("ul ol li.red", (0, 1, 3)), ("li.red.level", (0, 2, 1)), ("#x34y", (1, 0, 0)),
     ("h1 + *[rel=up]", (0, 1, 1)), (":root", (0, 1, 0)), (":where(.a) b", (0, 0, 1)),
     (":is(em, #foo)", (1, 0, 0)), ("li:nth-child(2n)", (0, 1, 1))],
)  # fmt: skip
def test_specificity(selector: str, expected: tuple[int, int, int]) -> None:
    # Selectors Level 4, section 17, "Calculating a selector's specificity": its examples.
    assert specificity(tokens_of(selector)) == expected


@pytest.mark.parametrize(
    ("selector", "expected"),
    [("*", Reach.EVERY), ("html", Reach.ROOT), (":root", Reach.ROOT), ("body", Reach.BODY), ("html body", Reach.BODY),
     (":root > body", Reach.BODY), ("body.dark", Reach.BODY_PERHAPS), (".dark body", Reach.BODY_PERHAPS),
     (".wb-axis", Reach.ROLE), ("main .wb-axis", Reach.ROLE_PERHAPS), ("span.wb-axis", Reach.ROLE_PERHAPS),
     (".wb-axis.low", Reach.ROLE_PERHAPS), (":is(.wb-axis, b)", Reach.ROLE_PERHAPS), ("[class~=wb-axis]", Reach.ROLE_PERHAPS),
     (".wb-axis:not(.low)", Reach.ROLE_PERHAPS), (".wb-axis::before", Reach.NONE), (".wb-axis:after", Reach.NONE),
     (".wb-axis b", Reach.NONE), (".wb-label", Reach.NONE), ("h1", Reach.NONE), ("main", Reach.AROUND),
     (".left > section", Reach.AROUND), ("span", Reach.AROUND), ("p span", Reach.NONE), ("", Reach.NONE)],
)  # fmt: skip
def test_whom_a_selector_reaches(selector: str, expected: Reach) -> None:
    assert reach_of(tokens_of(selector), "wb-axis") is expected


def test_later_and_more_specific_rules_win_and_important_ones_most() -> None:
    assert only(".wb-axis{font-weight:300}.wb-axis{font-weight:700}").weight == 700
    assert only(".wb-axis{font-weight:300}*{font-weight:700}").weight == 300
    assert only("*{font-weight:700!important}.wb-axis{font-weight:300}").weight == 700
    assert only("body{font-weight:700}html{font-weight:300}").weight == 700
    assert (
        only("*{font-weight:200}body{font-weight:700}").weight == 200
    )  # what is inherited yields to any rule


def test_the_shorthand_sets_what_it_does_not_name() -> None:
    css = "body{font-style:italic;font-weight:700}.wb-axis{font:condensed 600 14px/1.2 'Noto Serif', serif}"
    assert only(css) == RoleType(("Noto Serif", "serif"), 600, italic=False, size=Length(14))
    assert only(".wb-axis{font:italic small-caps bold 1em serif}") == RoleType(
        ("serif",), 700, italic=True, size=Length(em=1), features=(("smcp", True),)
    )
    assert only(".wb-axis{font:nonsense}") == RoleType()


@pytest.mark.parametrize(
    ("inherited", "word", "expected"),
    [(100, "bolder", 400), (400, "bolder", 700), (600, "bolder", 900), (950, "bolder", 950), (300, "lighter", 100),
     (600, "lighter", 400), (900, "lighter", 700), (700, "inherit", 700), (700, "normal", 400), (700, "1001", 700)],
)  # fmt: skip
def test_relative_weights(inherited: int, word: str, expected: int) -> None:
    # CSS Fonts Level 4, section 2.2.1, "Relative Weights".
    assert only(f"body{{font-weight:{inherited}}}.wb-axis{{font-weight:{word}}}").weight == expected


def test_custom_properties_are_put_in() -> None:
    css = ":root{--w:600;--f:Inter,serif;--g:var(--f)}.wb-axis{font-family:var(--g);font-weight:var(--x,var(--w))}"
    assert (only(css).families, only(css).weight) == (("Inter", "serif"), 600)
    assert only(":root{--a:var(--b);--b:var(--a)}.wb-axis{font-weight:var(--a)}").weight == 400


def test_letter_space_is_inherited_as_it_was_reckoned() -> None:
    # CSS Text Level 4, section 8.2: the computed value is an absolute length.
    assert only("body{font-size:20px;letter-spacing:.1em}").letter == Length(2)
    assert only("html{font-size:10px}body{font-size:2rem;letter-spacing:.1em}").letter == Length(2)
    assert only(".wb-axis{letter-spacing:.1em}").letter == Length(em=0.1)
    assert only("body{letter-spacing:2px}.wb-axis{letter-spacing:normal}").letter == Length()


def test_a_size_counts_only_where_the_class_itself_has_it() -> None:
    assert only("body{font-size:40px}").size is None
    assert only("html{font-size:20px}.wb-axis{font-size:.8rem}").size == Length(16)
    assert only("html{font-size:wb-unknownpx}.wb-axis{font-size:.8rem}").size is None


def test_in_doubt_there_are_several_types_and_the_certain_one_is_first() -> None:
    assert weights("main .wb-axis{font-weight:700}") == [400, 700]
    assert weights("@media (min-width:9px){.wb-axis{font-weight:700}}") == [400, 700]
    assert weights("@supports (display:grid){.wb-axis{font-weight:700}}") == [400, 700]
    assert weights("section{font-weight:700}.wb-axis{font-weight:300}") == [300]
    assert weights(".wb-axis{font-weight:300;&.low{font-weight:700}}") == [300, 700]
    assert len(weights("".join(f".a .wb-axis{{font-weight:{w}}}" for w in range(100, 1000, 50)))) == 6


def test_media_of_the_panel_are_resolved() -> None:
    css = ["@media (color-index >= 3){.wb-axis{font-weight:700}}@media print{.wb-axis{font-weight:900}}"]
    assert [kind.weight for kind in read_roles(css, features_of(THREE)).types("wb-axis")] == [700]
    assert [kind.weight for kind in read_roles(css, features_of(TWO)).types("wb-axis")] == [400]


def test_the_page_itself_takes_no_type_of_a_class() -> None:
    css = "html{font-style:italic}body{font-family:Inter}.wb-axis{font-weight:700}*{letter-spacing:1px}"
    assert only(css, role="") == RoleType(("Inter",), italic=True, letter=Length(1))


def test_figures_and_features() -> None:
    assert only(".wb-axis{font-variant-numeric:tabular-nums slashed-zero}").features == (
        ("tnum", True),
        ("zero", True),
    )
    assert only(".wb-axis{font-feature-settings:'ss01','liga' off,'kern' 0}").features == (
        ("ss01", True), ("liga", False), ("kern", False),
    )  # fmt: skip


def test_what_a_template_fills_in_is_no_value() -> None:
    text = ":root{font-size:{{ u }}px}{% if x %}b{font-weight:700}{% endif %}{# note #}"
    assert static_style(text) == ":root{font-size:wb-unknownpx} b{font-weight:700}  "


def test_a_style_that_cannot_be_read_says_nothing() -> None:
    assert readable(["a{" * 99], features_of(TWO)).types("wb-axis") == (RoleType(),)

"""Findings: the rule, the line, and a page in the documents for each."""

import re
from pathlib import Path

import pytest
from tests.press.makings import SIXTEEN, sheet

from wallbill.findings import Weight
from wallbill.press.lint import is_outside, lint_inline
from wallbill.press.pressing import PressTools, press_page
from wallbill.press.rules import RULES

REFERENCE = Path(__file__).parents[2] / "docs" / "reference" / "css.md"


def found(html: str, tools: PressTools) -> list[str]:
    return [
        f"{f.rule} {f.where}" for f in press_page(sheet(html), tools).findings if f.rule.startswith("press.")
    ]


def test_every_rule_has_its_heading_and_its_mend() -> None:
    text = REFERENCE.read_text(encoding="utf-8")
    headings = set(re.findall(r"^### `(press\.[a-z-]+)`", text, flags=re.MULTILINE))
    assert headings == set(RULES)
    for name, rule in RULES.items():
        part = text.split(f"### `{name}`")[1].split("###")[0]
        assert rule.mend.split(", or press")[0] in " ".join(part.split()), name


def test_lines_are_those_of_the_sheet(tools: PressTools) -> None:
    html = """<!doctype html>
<style>
p { color: red }

.a { columns: 2;
     z-index: -1 }
@media (update: slow) {
  p:has(b) { margin: 0 }
}
</style>
<p style="writing-mode: vertical-rl">x</p>
<svg><text>a</text></svg>
<style>p::before { content: "a"; font-size: 9px }</style>
"""
    assert found(html, tools) == [
        "press.columns hall.html:5 .a columns",
        "press.z-index hall.html:6 .a z-index",
        "press.has hall.html:8 p:has(b)",
        "press.pseudo-size hall.html:13 p::before font-size",
        "press.writing-mode hall.html:11 p",
        "press.svg-text hall.html:12 text",
    ]


@pytest.mark.parametrize(
    ("html", "rules"),
    [
        ("<p style='float:none'>a", []),
        ("<div style='float:left;height:9px'></div>", ["press.float"]),
        ("<img src='data:,' align=right alt=x width=9 height=9>", ["press.float"]),
        ("<p style='background:url(https://example.org/a.png)'>a", ["press.outside"]),
        ("<style>@import 'a.css';</style>", ["press.outside"]),
        ("<link rel=stylesheet href=a.css>", ["press.outside"]),
        ("<img src='https://example.org/a' alt=x width=9 height=9>", ["press.outside"]),
        ("<script>1</script>", ["press.script"]),
        ("<input value=x>", ["press.form-control"]),
        ("<div><b>a</div>", ["press.markup"]),
        ("<p id=a>b</p><p id=a>c</p>", ["press.duplicate-id"]),
        ("<p style='border:1px solid;vertical-align:top;z-index:1;position:absolute'>a", []),
        ("<ol style='list-style:lower-alpha'><li>a</ol>", []),
        ("<ul style='list-style-type:\"– \"'><li>a</ul>", []),
        ("<p style='background:linear-gradient(90deg,#000 0 50%,#fff 50% 100%)'>a", []),
        ("<p style='background:linear-gradient(#000 0 0)'>a", []),
        ("<p style='background:repeating-linear-gradient(0deg,#000 0 1px,#fff 1px 3px)'>a", []),
        ("<p style='background:radial-gradient(circle at 0 0,#000 0 9px,#fff 9px)'>a", []),
        ("<table><tr><td rowspan=1>a</table>", []),
        ("<style>col{width:9px}</style>", ["press.col"]),
        ("<style>.col{width:9px} .icol > p{width:9px}</style>", []),
    ],
)  # fmt: skip
def test_what_is_told_and_what_is_not(html: str, rules: list[str], tools: PressTools) -> None:
    assert [line.split()[0] for line in found(html, tools)] == rules


def test_a_float_stops_the_sheet() -> None:
    assert RULES["press.float"].weight is Weight.STOP


def test_the_browser_is_not_blamed_for_what_it_can(chromium_tools: PressTools) -> None:
    assert (
        found("<style>p{columns:2;float:left}p:has(b){margin:0}</style><p>a<sup>b</sup></p>", chromium_tools)
        == []
    )


def test_greys_are_checked_too(tools: PressTools) -> None:
    pressed = press_page(sheet("<p style='columns:2'>a", on=SIXTEEN), tools)
    assert [f.rule for f in pressed.findings] == ["press.columns"]


@pytest.mark.parametrize(
    ("address", "outside"),
    [("data:image/png;base64,AA", False), ("#a", False), ("", False), ("http://x/y", True), ("file:///x", True),
     ("//x/y", True), ("a.png", True), ("pictures/b.SVG", True), ("about:blank", False)],
)  # fmt: skip
def test_addresses(address: str, *, outside: bool) -> None:
    assert is_outside(address) is outside


def test_ordinary_attributes_are_passed_over_quickly() -> None:
    assert lint_inline("width:3px;color:red", engine="blitz") == ()
    assert lint_inline("width:3px; FLOAT : left", engine="blitz") == ("press.float",)

"""What a loop of a template repeats is told once."""

from tests.press.makings import sheet

from wallbill.findings import Finding
from wallbill.press.pressing import PressTools, press_page

HEAD = "<!doctype html><style>body{margin:0;font:16px/20px sans-serif}"


def of_rule(html: str, rule: str, tools: PressTools) -> list[Finding]:
    return [finding for finding in press_page(sheet(HEAD + html), tools).findings if finding.rule == rule]


def test_the_turns_of_a_loop_are_told_once_with_their_number(tools: PressTools) -> None:
    rows = "\n".join(f"<li><sup>{at}</sup> tide" for at in range(12))
    (found,) = of_rule(f"</style><ul>{rows}</ul>", "press.vertical-align", tools)
    assert found.what.endswith("included, and at 11 more places")
    assert (found.where.line, found.where.field) == (1, "sup")
    (two,) = of_rule("</style><p><sup>1</sup> a <sup>2</sup>", "press.vertical-align", tools)
    assert two.what.endswith(", and at 1 more place")


def test_of_several_the_worst_is_told(tools: PressTools) -> None:
    css = "p{margin:0;width:40px;overflow:hidden;white-space:nowrap}</style>"
    (found,) = of_rule(f"{css}<p>Harbour</p>\n<p>Harbour office</p>\n<p>Harbour</p>", "press.clipped", tools)
    assert found.where.line == 2
    assert found.limit == "40"
    assert "and at 2 more places" in found.what


def test_other_elements_are_told_by_themselves(tools: PressTools) -> None:
    page = "</style><p class=a><sup>1</sup></p><p class=b><sup>1</sup></p><p class=a><sub>1</sub></p>"
    found = of_rule(page, "press.vertical-align", tools)
    assert [finding.where.field for finding in found] == ["sup", "sup", "sub"]
    assert not [finding for finding in found if "more" in finding.what]


def test_drawings_are_told_once(tools: PressTools) -> None:
    (found,) = of_rule("</style>" + "<svg><text>a</text></svg>\n" * 3, "press.svg-text", tools)
    assert found.what.endswith("and at 2 more places")
    assert found.where.line == 1

"""The probe page: the author's page with an invisible box in every element that shows text.

Each box is 50em wide and 50ch high, as engines round boxes to whole pixels. Its width is the element's computed size, and its height, in ems, is the code
of the stand-in face that the cascade chose. So it is the engine itself that answers, media queries, ``calc()``
and custom properties included. The probe is the first child of its element; structural pseudo-classes that this
would disturb are written anew for the probe page, with the same specificity (Selectors Level 4, section 17).
The page is thrown away when the boxes are read.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

from tinycss2.nth import parse_nth  # type: ignore[import-untyped]  # ships no types

from wallbill.press.css import GROUPS, Declaration, Node, contents_of, rules_of, text_of
from wallbill.press.families import FamilyTable, replaced, stand_in_name, variables_of, weights_of
from wallbill.press.markup import Markup
from wallbill.press.model import Box
from wallbill.press.splice import Edit, attribute_edit, splice
from wallbill.press.standin import CODES, StandIn, stand_in

_PROBE_STYLE = """<style>
:where(html){font-family:wbfam000}
:where(pre,code,kbd,samp,tt,xmp,listing,plaintext){font-family:wbfam001}
wb-p:not(#_#_#_){all:unset!important;position:absolute!important;visibility:hidden!important;
width:50em!important;height:50ch!important;white-space:nowrap!important;box-sizing:border-box!important;
padding:inherit!important;border-width:inherit!important;border-style:inherit!important;
overflow:inherit!important}
wb-o:not(#_#_#_){all:unset!important;position:absolute!important;display:flex!important;width:0!important;
height:0!important;overflow:inherit!important;visibility:hidden!important}
wb-i:not(#_#_#_){all:unset!important;display:block!important;overflow:inherit!important}
wb-j:not(#_#_#_){all:unset!important;display:block!important;width:2px!important;height:2px!important}
wb-c:not(#_#_#_){all:unset!important;display:block!important;visibility:hidden!important;float:none!important;
width:0!important;height:0!important;padding:inherit!important;border-width:inherit!important;
border-style:inherit!important}
wb-b:not(#_#_#_){all:unset!important;display:block!important;visibility:hidden!important}
wb-a:not(#_#_#_){all:unset!important;display:inline-block!important;visibility:hidden!important;
width:2px!important;height:2px!important}
wb-q:not(#_#_#_){all:unset!important;display:inline-block!important;visibility:hidden!important;
font-family:wbzero00!important;font-style:normal!important;white-space:nowrap!important}
</style>"""
_TIMES = 50
_ZERO = "wbzero00"
_NAMED = "wb-e"
_FIRST = ":nth-child(n):not(:where(:not(wb-p) ~ *))"


class Reading(NamedTuple):
    """What an element was found to ask for: size in pixels, families, weight, slant, added letter space.

    ``boxed``: whether it has padding or a border to its sides. ``adrift``: whether its lines do not begin at the left edge. ``families`` is None where no stand-in was chosen: a face of the page itself, or the engine's own.
    """

    size_px: float
    families: tuple[str, ...] | None
    weight: int
    italic: bool
    letter_px: float | None
    adrift: bool = False
    boxed: bool = False


@dataclass(frozen=True, slots=True)
class ProbePage:
    """The page to lay out, its stand-in faces, and what is needed to read the boxes."""

    html: str
    fonts: tuple[bytes, ...]
    codes: tuple[StandIn, ...]
    lists: tuple[tuple[str, ...], ...]
    probed: tuple[int, ...]
    spaced: bool
    asked_inline: Mapping[int, str] = field(default_factory=dict)
    asked_cuts: tuple[int, ...] = ()

    def cuts(self, boxes: Mapping[str, Box]) -> frozenset[int]:
        """The elements that cut what leaves them: there a flex item may be smaller than its contents (CSS Flexbox, 4.5)."""
        return frozenset(
            index
            for index in self.asked_cuts
            if f"wb-i{index}" in boxes and boxes[f"wb-i{index}"].width_px < 1
        )

    def inline(self, boxes: Mapping[str, Box]) -> frozenset[int]:
        """The elements that are laid out inline: the default engine gives them, and what is not shown, no size."""
        return frozenset(
            index
            for index, name in self.asked_inline.items()
            if name in boxes and boxes[name].width_px == boxes[name].height_px == 0
        )

    def read(self, boxes: Mapping[str, Box]) -> dict[int, Reading]:
        """What each probed element asks for, by element index; elements that are not shown are left out."""
        found = {}
        for index in self.probed:
            box = boxes.get(f"wb-p{index}")
            if box is not None and box.width_px > 0:
                reading = self._reading(box, boxes.get(f"wb-q{index}"))
                edge = boxes.get(f"wb-c{index}")
                found[index] = reading._replace(
                    adrift=_is_adrift(box, boxes.get(f"wb-a{index}")),
                    boxed=edge is not None and edge.width_px > 0,
                )
        return found

    def _reading(self, box: Box, letter: Box | None) -> Reading:
        ratio, size_px = box.height_px / box.width_px, box.width_px / _TIMES
        code = round(ratio)
        spacing = letter.width_px / _TIMES - size_px if letter and self.spaced else None
        if abs(ratio - code) > 0.05 or not 1 <= code <= len(self.codes):
            return Reading(size_px, None, 400, italic=False, letter_px=spacing)
        stands = self.codes[code - 1]
        return Reading(size_px, self.lists[stands.families], stands.weight, stands.italic, spacing)


@dataclass(frozen=True, slots=True)
class Questions:
    """What a probe page is to find out.

    ``styles``: the text of each ``<style>`` (by its place in the markup) with media queries resolved.
    ``inline``: ``style`` attributes that speak of fonts, by element index. ``probed``: elements that show text.
    ``spaced``: whether letter spacing is asked for too. ``edits``: what else is to be changed in the source.
    ``inlines``: elements of which it is asked whether they are inline, with their own ids or None.
    ``cuts``: elements of which it is asked whether they cut what leaves them.
    """

    styles: Mapping[int, str]
    inline: Mapping[int, str]
    probed: Sequence[int]
    spaced: bool
    edits: Sequence[Edit] = ()
    inlines: Mapping[int, str | None] = field(default_factory=dict)
    cuts: Sequence[int] = ()


def probe_page(markup: Markup, asked: Questions) -> ProbePage:
    """Makes the probe page. Raises `PressError` for a style that is nested too deep."""
    parsed = {at: rules_of(css) for at, css in asked.styles.items()}
    attributes = {index: contents_of(css) for index, css in asked.inline.items()}
    declarations = [d for nodes in (*parsed.values(), *attributes.values()) for d in _declarations(nodes)]
    roles, table = variables_of(declarations), FamilyTable()
    edits = list(asked.edits)
    for at, nodes in parsed.items():
        run = markup.styles[at]
        edits.append(Edit(run.start, run.end, _rules(nodes, _Swap(roles, table))))
    for index, nodes in attributes.items():
        text = _rules(nodes, _Swap(roles, table))
        edits += attribute_edit(markup, index, name="style", value=text)
    cutting = frozenset(asked.cuts)
    edits += [
        _probe(markup, index, spaced=asked.spaced, cuts=index in cutting)
        for index in sorted(cutting.union(asked.probed))
    ]
    edits += [_named(markup, index) for index, name in asked.inlines.items() if name is None]
    codes = _codes(len(table.lists), sorted(weights_of(declarations)))
    fonts = [
        stand_in(stand_in_name(c.families), weight=c.weight, italic=c.italic, zero_em=at)
        for at, c in enumerate(codes, 1)
    ]
    zero = stand_in(_ZERO, weight=400, italic=False, zero_em=1)
    html = _before_styles(markup, splice(markup.source, edits))
    names = {index: name or f"{_NAMED}{index}" for index, name in asked.inlines.items()}
    return ProbePage(
        html, (*fonts, zero), codes, tuple(table.lists), tuple(asked.probed), asked.spaced, MappingProxyType(names),
        tuple(asked.cuts),
    )  # fmt: skip


def _is_adrift(box: Box, mark: Box | None) -> bool:
    """Whether a mark in a line as wide as the probe lies in its middle or at its right end."""
    return mark is not None and (mark.x_px - box.x_px) / box.width_px > 0.2


def _before_styles(markup: Markup, html: str) -> str:
    """Puts the probes' own rules behind the doctype, before every style of the author's."""
    start = markup.elements[0].at if markup.elements else 0
    return html[:start] + _PROBE_STYLE + html[start:]


def _probe(markup: Markup, index: int, *, spaced: bool, cuts: bool) -> Edit:
    element = markup.elements[index]
    inner = f"<wb-q id=wb-q{index}>{'0' * _TIMES}</wb-q>" if spaced else ""
    if cuts:
        inner += f"<wb-o><wb-i id=wb-i{index}><wb-j></wb-j></wb-i></wb-o>"
    probe = f"<wb-p id=wb-p{index}><wb-b><wb-a id=wb-a{index}></wb-a></wb-b><wb-c id=wb-c{index}></wb-c>{inner}</wb-p>"
    if element.implied:
        return Edit(element.at, element.at, f"<body>{probe}")
    return Edit(element.close + 1, element.close + 1, probe)


def _named(markup: Markup, index: int) -> Edit:
    at = markup.elements[index].name_end
    return Edit(at, at, f" id={_NAMED}{index} ")


def _codes(lists: int, weights: Sequence[int]) -> tuple[StandIn, ...]:
    every = [StandIn(f, w, italic=i) for f in range(lists) for w in weights for i in (False, True)]
    return tuple(every[:CODES])


class _Swap(NamedTuple):
    """What families are replaced with: roles of custom properties, and the table of lists."""

    roles: dict[str, str]
    table: FamilyTable


def _declarations(nodes: Sequence[Node]) -> list[Declaration]:
    found = []
    for node in nodes:
        if node.type == "declaration":
            found.append(Declaration(node.lower_name, node.value, "", node.source_line))
        elif node.type == "qualified-rule" or (node.type == "at-rule" and node.content is not None):
            found += _declarations(contents_of(node.content))
    return found


def _rules(nodes: Sequence[Node], swap: _Swap) -> str:
    """Rules and declarations as text again, families and selectors changed."""
    out = []
    for node in nodes:
        if node.type == "declaration":
            here = Declaration(node.lower_name, node.value, "", node.source_line)
            value = replaced(here, swap.roles, swap.table)
            value = text_of(node.value).strip() if value is None else value
            out.append(f"{node.name}:{value}{'!important' if node.important else ''};")
        elif node.type == "qualified-rule":
            inner = _rules(contents_of(node.content), swap)
            out.append(f"{_selector(node.prelude)}{{{inner}}}")
        elif node.type == "at-rule":
            out.append(_at_rule(node, swap))
    return "\n".join(out)


def _at_rule(node: Node, swap: _Swap) -> str:
    head = f"@{node.at_keyword}{text_of(node.prelude)}"
    if node.content is None:
        return f"{head};"
    if node.lower_at_keyword in GROUPS:
        return f"{head}{{{_rules(contents_of(node.content), swap)}}}"
    return f"{head}{{{text_of(node.content)}}}"


def _selector(tokens: Sequence[Node]) -> str:
    """A selector that means the same on a page where a probe may be the first child of any element."""
    out: list[str] = []
    skip = False
    for at, node in enumerate(tokens):
        if skip:
            skip = False
            continue
        following = tokens[at + 1] if at + 1 < len(tokens) else None
        if node == ":" and following is not None and following.type in ("ident", "function"):
            out.append(_pseudo(following, doubled=at > 0 and tokens[at - 1] == ":"))
            skip = True
        elif node == "*" and following != "|":
            out.append(":not(:where(wb-p))")
        else:
            out.append(text_of([node]))
    return "".join(out)


def _pseudo(node: Node, *, doubled: bool) -> str:
    if node.type == "ident":
        name = node.lower_value
        if doubled or name not in ("first-child", "only-child"):
            return f":{text_of([node])}"
        return _FIRST if name == "first-child" else f"{_FIRST}:last-child"
    if node.lower_name == "nth-child" and (nth := parse_nth(node.arguments)):
        step, start = nth
        inside, beside = f":nth-child({step}n + {start + 1})", f":nth-child({step}n + {start})"
        return f":is(:where(wb-p ~ *){inside}, :where(:not(wb-p ~ *)){beside})"
    if node.lower_name in ("is", "not", "where", "has"):
        return f":{node.name}({_selector(node.arguments)})"
    return f":{text_of([node])}"

"""The press's findings about one page: from its styles, its markup, and where its boxes came to lie."""

import re
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from wallbill.errors import Place
from wallbill.findings import Finding
from wallbill.press.lint import finding, holds_for, is_outside, lint_inline
from wallbill.press.model import Box
from wallbill.press.telling import told_once
from wallbill.press.typeplan import Attributes, Source, TypePlan

_TAG_RULES = MappingProxyType(
    {
        "input": "press.form-control",
        "select": "press.form-control",
        "textarea": "press.form-control",
        "script": "press.script",
        "caption": "press.caption",
        "details": "press.details",
        "q": "press.quotes",
        "sub": "press.vertical-align",
        "sup": "press.vertical-align",
        "wbr": "press.wbr",
    }
)
_DRAWN_RULES = MappingProxyType(
    {"text": "press.svg-text", "pattern": "press.svg-pattern", "mask": "press.svg-mask"}
)
# attribute, the tags it matters on (any if none), its value, the rule
_ATTRIBUTE_RULES = tuple(
    (name, frozenset(tags.split()), re.compile(value, re.IGNORECASE), rule)
    for name, tags, value, rule in (
        ("align", "img table", r"left|right", "press.float"),
        ("dir", "", r"rtl", "press.mirroring"),
        ("rowspan", "td th", r"(?!1$|0$)\d+", "press.rowspan"),
        ("bgcolor", "", r".+", "press.old-attribute"),
        ("valign", "", r".+", "press.old-attribute"),
    )
)
_LOADS = (("img", "src"), ("link", "href"), ("source", "srcset"), ("iframe", "src"), ("script", "src"))
_SLACK_PX = 0.5  # a box may leave the page by what rounding does
_TOLD = 8  # more of one kind tell nothing new


def check_source(source: Source, *, engine: str) -> tuple[Finding, ...]:
    """What can be said before the page is laid out."""
    elements = told_once(source, _element_faults(source, engine))
    return (*_style_faults(source), *elements, *told_once(source, _drawing_faults(source, engine)))


def _style_faults(source: Source) -> Iterator[Finding]:
    for fault in source.facts.faults:
        run = source.markup.styles[fault.sheet]
        line = source.markup.line(run.start) + fault.line - 1
        yield finding(fault.rule, Place(source.name, line, fault.field))


def _element_faults(source: Source, engine: str) -> Iterator[tuple[int, Finding]]:
    ids: set[str] = set()
    for index, (element, attributes) in enumerate(
        zip(source.markup.elements, source.attributes, strict=True)
    ):
        if not attributes and element.tag not in _TAG_RULES:
            continue
        for rule in _tag_rules(element.tag, attributes, engine):
            if holds_for(rule, engine):
                yield index, finding(rule, source.place(index))
        name = attributes["id"].value if "id" in attributes else ""
        if name and name in ids:
            where = Place(source.name, source.markup.line(element.at), f"#{name}")
            yield index, finding("press.duplicate-id", where)
        ids.add(name)
    for index in source.markup.unclosed:
        yield index, finding("press.markup", source.place(index))


def _tag_rules(tag: str, attributes: Attributes, engine: str) -> Iterator[str]:
    if "style" in attributes:
        yield from lint_inline(attributes["style"].value, engine=engine)
    if tag in _TAG_RULES:
        yield _TAG_RULES[tag]
    for name, tags, value, rule in _ATTRIBUTE_RULES:
        if name in attributes and (not tags or tag in tags) and value.fullmatch(attributes[name].value):
            yield rule
    for loader, name in _LOADS:
        if tag == loader and name in attributes and is_outside(attributes[name].value):
            yield "press.outside"


def _drawing_faults(source: Source, engine: str) -> Iterator[tuple[int, Finding]]:
    for tag, at in source.markup.drawn:
        rule = _DRAWN_RULES.get(tag)
        if rule and holds_for(rule, engine):
            yield -1, finding(rule, Place(source.name, source.markup.line(at), tag))


def check_inline(
    source: Source, plan: TypePlan, ids: Sequence[str | None], *, boxes: Mapping[str, Box]
) -> tuple[Finding, ...]:
    """Inline elements with padding or borders, which the default engine leaves out; the engine gives them no box."""
    owners = dict.fromkeys(run.owner for run in source.markup.texts)
    found = (
        (owner, finding("press.inline-box", source.place(owner)))
        for owner in owners
        if owner in plan.settings
        and plan.settings[owner].boxed
        and (name := ids[owner])
        and name in boxes
        and boxes[name].width_px == boxes[name].height_px == 0
    )
    return told_once(source, found)


def check_boxes(
    source: Source, boxes: Mapping[str, Box], ids: Sequence[str | None], *, page_px: tuple[int, int]
) -> tuple[Finding, ...]:
    """Text whose box leaves the page; of nested boxes the outermost is told, and no more than a few."""
    width_px, height_px = page_px
    told: set[int] = set()
    found: list[tuple[int, Finding]] = []
    for index in dict.fromkeys(run.owner for run in source.markup.texts):
        name = ids[index]
        box = boxes.get(name) if name else None
        if box is None or box.width_px <= 0 or source.markup.elements[index].parent in told:
            continue
        over_px = max(
            -box.x_px, -box.y_px, box.x_px + box.width_px - width_px, box.y_px + box.height_px - height_px
        )
        if over_px > _SLACK_PX:
            told.add(index)
            base = finding("press.overflow", source.place(index))
            one = Finding(
                base.rule, base.where, f"{base.what} by {over_px:.0f} px",
                measured=f"{over_px:.1f}", limit="0", unit="px", mend=base.mend, weight=base.weight,
            )  # fmt: skip
            found.append((index, one))
    return told_once(source, found)[:_TOLD]

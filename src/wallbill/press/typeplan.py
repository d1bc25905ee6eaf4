"""The type plan of a page: which face, size and letter space each element gets, and the page that says so.

Pure: the page goes in as text and comes out as text. An engine is asked in between, by `pressing`.
"""

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html import unescape
from math import floor
from types import MappingProxyType

from wallbill.errors import Place
from wallbill.faces.fitting import LARGEST_PX
from wallbill.faces.model import FaceAsk, FaceSet
from wallbill.findings import Finding
from wallbill.press.boxing import Says, may_be
from wallbill.press.directions import direction_marks
from wallbill.press.edges import Edges, edges_of, outer_spaces, probe_ids
from wallbill.press.gaps import holds_spaces
from wallbill.press.markup import Attribute, Element, Markup, words
from wallbill.press.probe import ProbePage, Questions, Reading, probe_page
from wallbill.press.splice import Edit, attribute_edit, splice
from wallbill.press.stylefacts import HYPHENS, QUOTES, StyleFacts

Attributes = Mapping[str, Attribute]
FaceKey = tuple[FaceAsk, bool]
"""An ask, and whether it is to be fitted (or left smooth)."""

_LISTED = frozenset({"li", "summary"})
_UNSHOWN = words("head title base link meta style script noscript template option optgroup html")
_BARE = words("img input br hr wbr col area source track embed iframe object video audio canvas svg math")
_UNASKED = _UNSHOWN | _BARE | words("body table thead tbody tfoot tr colgroup")
_SKELETON = words("class id lang dir hidden type start face size media reversed open")
_TYPE_STYLE = re.compile(
    r"font|--|letter|all\s*:|display|text-transform|content|hyphens|list-style|zoom|white-space"
)
_FLOW = re.compile(
    r"(?:position|float|overflow[-\w]*)\s*:\s*\w+"
)  # without offsets, which change what is inline no more
_PLAIN_NAME = re.compile(r"[A-Za-z_][\w-]*", re.ASCII)
_BULLETS = (
    '<style>:where(ul){list-style-type:"• "}:where(ul ul,ol ul){list-style-type:"◦ "}'
    ':where(ul ul ul,ul ol ul,ol ul ul,ol ol ul){list-style-type:"▪ "}</style>'
)
_CONTROLS = frozenset("\n\r\t\f\v\x00")


@dataclass(frozen=True, slots=True)
class Setting:
    """How the text of one element is set: which face, which letter space, which signs beside its own text.

    ``letter_px``: whole pixels, None where the page sets none. ``fitted``: False where type is left smooth. ``adrift``: whether lines are adrift or
    set to the right, and so may begin at a fraction of a pixel. ``boxed``: whether it has padding or a border.
    """

    ask: FaceAsk
    letter_px: int | None = None
    extra: frozenset[str] = frozenset()
    fitted: bool = True
    adrift: bool = False
    boxed: bool = False

    @property
    def key(self) -> FaceKey:
        """What the element's faces are found under."""
        return self.ask, self.fitted


@dataclass(frozen=True, slots=True)
class TypePlan:
    """Settings by element index, what was found while planning, and inline elements whose edge spaces the engine drops.

    ``cuts``: elements that cut what leaves them. ``inline``: inline elements, None where the engine heeds ``dir``
    itself. ``shape``: the digest of the skeleton; the plan is good for every page that has it.
    """

    settings: Mapping[int, Setting]
    findings: tuple[Finding, ...] = field(default=())
    edges: Edges = field(default_factory=Edges)
    cuts: frozenset[int] = frozenset()
    inline: frozenset[int] | None = None
    shape: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """A page as read: its markup, the attributes of each element, what its styles say."""

    markup: Markup
    attributes: Sequence[Attributes]
    facts: StyleFacts
    name: str = ""

    def place(self, index: int) -> Place:
        """Where an element stands in the sheet."""
        element = self.markup.elements[index]
        return Place(self.name, self.markup.line(element.at), element.tag)


def skeleton(source: Source, *, panel: str) -> str:
    """A digest of everything that may change a page's type but not its texts; ``panel`` says for whom."""
    facts, owners, spaced = source.facts, {run.owner for run in source.markup.texts}, spacers(source)
    asked = _SKELETON | facts.attributes
    parts = [panel, *facts.resolved]
    for index, (element, attributes) in enumerate(
        zip(source.markup.elements, source.attributes, strict=True)
    ):
        shown = "." if index in owners else "," if index in spaced else ""
        parts.append(f"{element.tag}{element.parent}{shown}")
        for name, attribute in attributes.items():
            if name in asked or (name == "style" and _TYPE_STYLE.search(attribute.value)):
                parts.append(f"{name}={attribute.value}")
            elif name == "style":
                parts += _FLOW.findall(attribute.value)
    return hashlib.blake2b("\x1f".join(parts).encode(), digest_size=20).hexdigest()


def spacers(source: Source) -> frozenset[int]:
    """Indices of the elements that may put a space in a line without a text of their own."""
    return holds_spaces(source.markup, source.attributes, boxing=source.facts.boxing)


def shows_text(source: Source) -> tuple[int, ...]:
    """Indices of the elements that put characters on the page: own text, spaces, markers, quotes, generated content."""
    owners = {run.owner for run in source.markup.texts} | spacers(source)
    return tuple(
        index
        for index, element in enumerate(source.markup.elements)
        if element.tag not in _UNSHOWN
        and element.tag not in _BARE
        and (index in owners or element.tag in _LISTED or element.tag == "q" or source.facts.generates)
    )


def plan_probe(source: Source, *, edges: bool = False) -> ProbePage:
    """The page to lay out in order to learn what each element asks for; ``edges``: and which elements are inline."""
    inline = {
        index: attributes["style"].value
        for index, attributes in enumerate(source.attributes)
        if "style" in attributes
        and ("font" in attributes["style"].value or "--" in attributes["style"].value)
    }
    spaced = source.facts.spaced or any(
        "letter-spacing" in attributes["style"].value
        for attributes in source.attributes
        if "style" in attributes
    )
    styles = dict(enumerate(source.facts.resolved))
    inlines = probe_ids(source.markup, source.attributes) if edges else {}
    asked = Questions(styles, inline, shows_text(source), spaced, disarmed(source), inlines, _may_cut(source))
    return probe_page(source.markup, asked)


def _may_cut(source: Source) -> tuple[int, ...]:
    """Elements that may cut what leaves them; a page's own edge is known without asking."""
    return tuple(
        index
        for index, (element, has) in enumerate(zip(source.markup.elements, source.attributes, strict=True))
        if element.tag not in _UNASKED and may_be(Says.CUTS, element.tag, has, boxing=source.facts.boxing)
    )


def make_plan(
    source: Source,
    readings: Mapping[int, Reading],
    *,
    smooth: bool,
    inline: frozenset[int] | None = None,
    cuts: frozenset[int] = frozenset(),
) -> TypePlan:
    """The plan that follows from what the probes said. ``smooth``: for panels that smooth type themselves.

    ``inline``: inline elements of an engine that drops spaces at their edges and passes over ``dir``. ``cuts``: elements that cut what leaves them.
    """
    settings: dict[int, Setting] = {}
    shared: dict[
        Setting, Setting
    ] = {}  # equal settings are one object, so that `compose` knows them by identity
    findings = []
    for index, reading in readings.items():
        if reading.families and reading.families[0].casefold() in source.facts.own_faces:
            findings.append(_own_face(source, index, reading.families[0]))
            continue
        size_px = max(1, floor(reading.size_px + 0.5))
        fitted = not smooth and size_px <= LARGEST_PX
        ask = FaceAsk(reading.families or ("sans-serif",), size_px, reading.weight, reading.italic)
        letter_px = None if reading.letter_px is None or smooth else _whole(reading.letter_px)
        setting = Setting(ask, letter_px, _extra(source, index), fitted, reading.adrift, reading.boxed)
        settings[index] = shared.setdefault(setting, setting)
    edges = edges_of(
        source.markup, source.attributes, inline=inline or frozenset(), spaces=source.facts.spaces
    )
    return TypePlan(MappingProxyType(settings), tuple(findings), edges, cuts, inline)


def _whole(value_px: float) -> int:
    return floor(value_px + 0.5)


def _extra(source: Source, index: int) -> frozenset[str]:
    """Characters that an element shows beside its text."""
    tag, facts = source.markup.elements[index].tag, source.facts
    found = facts.everywhere | facts.generated
    if tag in _LISTED:
        found |= facts.markers
    return found | QUOTES if tag == "q" else found


def asked_characters(source: Source, plan: TypePlan) -> dict[FaceKey, frozenset[str]]:
    """The characters that each face needs, from the page's text as it stands."""
    texts: dict[FaceKey, list[str]] = {}
    extra: dict[FaceKey, frozenset[str]] = {}
    raw, settings = source.markup.source, plan.settings
    for setting in settings.values():
        texts.setdefault(setting.key, [])
        extra[setting.key] = extra.get(setting.key, frozenset()) | setting.extra
    for owner, start, end in source.markup.texts:
        own = settings.get(owner)
        if own is not None:
            texts[own.key].append(raw[start:end])
    for space in outer_spaces(source.markup, plan.edges):
        if space.owner in settings:
            texts[settings[space.owner].key].append(space.text)
    return {
        key: _characters(parts, extra[key], transforms=source.facts.transforms)
        for key, parts in texts.items()
    }


def _characters(parts: Sequence[str], extra: frozenset[str], *, transforms: bool) -> frozenset[str]:
    text = "".join(parts)
    found = set(unescape(text) if "&" in text else text)
    if "\xad" in found:
        found |= HYPHENS
    if transforms:
        for character in tuple(found):
            found.update(character.upper(), character.lower(), character.title())
    found.add(" ")
    return frozenset(found - _CONTROLS) | extra


@dataclass(frozen=True, slots=True)
class Composed:
    """The final page: its text, the edits that made it, and the id of each element (None where it has none)."""

    html: str
    edits: tuple[Edit, ...]
    ids: tuple[str | None, ...]


def compose(source: Source, plan: TypePlan, sets: Mapping[FaceKey, FaceSet]) -> Composed:
    """The final page: fitted families, whole sizes and letter spaces written into each element, and an id.

    Spaces that the engine drops at the edge of inline elements are written outside of them, and its paragraphs
    begin with a mark of their direction where they need one.
    """
    markup, prefix = source.markup, _free_prefix(source.markup.source)
    edits = [
        Edit(run.start, run.end, css)
        for run, css in zip(markup.styles, source.facts.resolved, strict=True)
        if markup.source[run.start : run.end] != css
    ]
    edits += _bullets(markup, plan) + disarmed(source)
    ids: list[str | None] = []
    declarations: dict[int, str] = {}
    for index, (element, attributes) in enumerate(zip(markup.elements, source.attributes, strict=True)):
        if element.tag in _UNSHOWN and element.tag != "html":
            ids.append(None)
            if "media" in attributes and element.tag == "style":
                edits.append(_without_media(attributes["media"]))
            continue
        own = attributes.get("id")
        ids.append(own.value if own and own.value else None if own else f"{prefix}{index}")
        setting, declared = plan.settings.get(index), ""
        if setting is not None:
            if id(setting) not in declarations:
                declarations[id(setting)] = _declared(setting, sets)
            declared = declarations[id(setting)]
        new_id = "" if own else f' id="{prefix}{index}"'
        edits += _tag_edits(element, attributes.get("style"), declared=declared, new_id=new_id)
    edits += [Edit(space.at, space.at, space.text) for space in outer_spaces(markup, plan.edges)]
    if plan.inline is not None:
        marks = direction_marks(markup, source.attributes, inline=plan.inline, boxing=source.facts.boxing)
        edits += [Edit(at, at, mark) for at, mark in marks]
    return Composed(splice(markup.source, edits), tuple(edits), tuple(ids))


def disarmed(source: Source) -> list[Edit]:
    """Edits that make links to style sheets empty, so that no engine looks for them."""
    return [
        edit
        for index, (element, attributes) in enumerate(
            zip(source.markup.elements, source.attributes, strict=True)
        )
        if element.tag == "link" and "href" in attributes
        for edit in attribute_edit(source.markup, index, name="href", value="data:text/css,")
    ]


def _bullets(markup: Markup, plan: TypePlan) -> list[Edit]:
    """Bullets as type of the list's own face, as engines draw ``disc`` and its kin as smoothed dots.

    The rules have no specificity, so whatever the author writes about lists goes before them.
    """
    if not any(e.tag == "ul" for e in markup.elements) or not any(s.fitted for s in plan.settings.values()):
        return []
    start = markup.elements[0].at
    return [Edit(start, start, _BULLETS)]


def _without_media(media: Attribute) -> Edit:
    """The panel's answer to a ``media`` attribute has gone into the sheet itself."""
    return (
        Edit(media.start, media.end, "all")
        if media.quote in ('"', "'", "")
        else Edit(media.end, media.end, "")
    )


def _free_prefix(source: str) -> str:
    """A beginning for ids that the page does not use."""
    prefix = "wb"
    while prefix in source:
        prefix += "x"
    return prefix


def _declared(setting: Setting, sets: Mapping[FaceKey, FaceSet]) -> str:
    """Inline declarations of one element, without spaces or quotes."""
    found = sets.get(setting.key)
    if found is None or not found.faces:
        return ""
    parts = [f"font-family:{','.join(map(_css_name, found.stack))}!important"]
    if setting.fitted:
        parts.append(f"font-size:{setting.ask.size_px}px!important")
    if setting.letter_px is not None:
        parts.append(f"letter-spacing:{setting.letter_px}px!important")
    return ";".join(parts)


def _css_name(family: str) -> str:
    """A family as identifiers, each odd sign escaped (CSS Syntax Level 3, section 4.3.7)."""
    if _PLAIN_NAME.fullmatch(family):
        return family
    return "".join(
        s if s.isascii() and (s.isalnum() or s in "_-") and at else f"\\{ord(s):06x}"
        for at, s in enumerate(family)
    )


def _tag_edits(element: Element, style: Attribute | None, *, declared: str, new_id: str) -> list[Edit]:
    fresh = f' style="{declared}"' if declared and not style else ""
    if element.implied:
        return [Edit(element.at, element.at, f"<body{new_id}{fresh}>")]
    edits = [Edit(element.name_end, element.name_end, new_id + fresh)] if new_id or fresh else []
    if style and declared:
        joined = f";{declared}" if style.value else declared
        text = {"?": f'="{declared}"', "=": f'"{declared}"'}.get(style.quote, joined)
        edits.append(Edit(style.end, style.end, text))
    return edits


def _own_face(source: Source, index: int, family: str) -> Finding:
    return Finding(
        "press.own-face",
        source.place(index),
        f"{family!r} comes from the page's own @font-face and is not fitted to the pixel grid",
        mend="put the font file where the wall keeps its faces and leave @font-face out",
    )

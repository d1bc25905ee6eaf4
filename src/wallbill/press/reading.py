"""Reads a page's source: open and closed elements as an HTML parser keeps them.

Tags, comments and raw text are told apart as in the HTML Standard, section 13.2.5 "Tokenization"; end tags that
an author left out are supplied as in section 13.2.6.4.7 "in body", and formatting elements that were left open
go on as in 13.2.4.3. `tests/press/test_markup.py` asks a browser about each of these.
"""

import re
from types import MappingProxyType

from wallbill.errors import Place, PressError
from wallbill.press.markup import Element, Markup, Run, words

DEPTH_LIMIT = 512  # deeper nesting is a template's fault; both engines are sound up to here

_TOKEN = re.compile(
    r"""<!--(?:-?>|.*?(?:--!?>|\Z))"""
    r"""|<(/?)([a-zA-Z][^\s/>]*)"""
    r"""((?:[\s/]++|[^\s/>][^\s/>=]*+(?:\s*+=\s*+(?:"[^"]*"|'[^']*'|(?!["'])[^\s>]*+)|(?!\s*+=)))*+)>"""
    r"""|<(?:[!?]|/(?![a-zA-Z]))[^>]*>?""",
    re.DOTALL,
)
_DOCTYPE = re.compile(r"\s*(?:<!--.*?-->\s*)*<!doctype\b", re.IGNORECASE | re.DOTALL)
_CUT_TAG = re.compile(r"</?[a-zA-Z]")
_SPACE = " \t\n\r\f"


VOID = words("area base br col embed hr img input link meta param source track wbr frame keygen mspace")
"""Elements that hold nothing, and so have no end tag."""

_RAW = MappingProxyType(
    {
        tag: re.compile(rf"</{tag}(?=[\s/>])", re.IGNORECASE)
        for tag in ("style", "script", "xmp", "iframe", "noembed", "noframes", "textarea", "title")
    }
)
_SHOWN_RAW = words("xmp textarea")
_HEAD = words("html head title base link meta style script noscript template")
_P_ENDERS = words(
    """address article aside blockquote center details dialog dir div dl fieldset figcaption figure footer form
    h1 h2 h3 h4 h5 h6 header hgroup hr listing main menu nav ol p plaintext pre search section summary table ul
    xmp li dd dt"""
)
_OPTIONAL_END = words(
    "li dt dd p rt rp optgroup option thead tbody tfoot tr td th colgroup caption html head body"
)
_FORMATTING = words("a b big code em font i nobr s small strike strong tt u")
_SCOPE = words("html table td th caption template button object body")
_HEADINGS = words("h1 h2 h3 h4 h5 h6")
_FOREIGN = words("svg")
_TABLE_PARTS = words("caption colgroup col tbody thead tfoot tr td th")
_BREAKS_OUT = words(
    """b big blockquote body br center code dd div dl dt em embed h1 h2 h3 h4 h5 h6 head hr i img li listing menu
    meta nobr ol p pre ruby s small span strong strike sub sup table tt u ul var"""
)
_NOTED = words("text pattern mask foreignobject")


def _ends(ended: str, stop: str) -> tuple[frozenset[str], frozenset[str]]:
    return words(ended), words(stop)


_ITEM_STOP = "ol ul menu table td th caption body button section article aside nav main blockquote dl"
_IMPLIED = MappingProxyType(
    {
        "li": _ends("li", _ITEM_STOP),
        "dt": _ends("dt dd", "dl table td th caption body button ol ul"),
        "dd": _ends("dt dd", "dl table td th caption body button ol ul"),
        "tr": _ends("tr td th caption colgroup", "table tbody thead tfoot template body"),
        "td": _ends("td th caption", "tr table template body"),
        "th": _ends("td th caption", "tr table template body"),
        "tbody": _ends("tbody thead tfoot tr td th caption colgroup", "table template body"),
        "thead": _ends("tbody thead tfoot tr td th caption colgroup", "table template body"),
        "tfoot": _ends("tbody thead tfoot tr td th caption colgroup", "table template body"),
        "option": _ends("option", "select optgroup datalist body"),
        "optgroup": _ends("option optgroup", "select body"),
        "rt": _ends("rt rp", "ruby body"),
        "rp": _ends("rt rp", "ruby body"),
        "button": _ends("button", "table td th caption object body"),
    }
)
"""A start tag, the open elements that it ends, and the elements beyond which it does not reach."""


def read_markup(source: str, *, name: str = "") -> Markup:
    """Reads a page; ``name`` is its file, for messages.

    Raises `PressError` for a tag that is never finished and for nesting deeper than `DEPTH_LIMIT`.
    """
    return _Reader(source, name).read()


class _Reader:
    """The open elements while a source is read from its start to its end."""

    def __init__(self, source: str, name: str) -> None:
        self.source = source
        self.name = name
        self.elements: list[Element] = []
        self.texts: list[Run] = []
        self.styles: list[Run] = []
        self.drawn: list[tuple[str, int]] = []
        self.unclosed: list[int] = []
        self.ends: list[Run] = []
        self.open: list[int] = []  # indices of open elements
        self.tags: list[str] = []  # their tags
        self.going_on: list[int] = []  # formatting elements that were left open and go on
        self.foreign = 0  # open svg or math elements
        self.body = -1
        # without a doctype a page is read in quirks mode, where a table does not end a paragraph
        self.ends_p = _P_ENDERS if _DOCTYPE.match(source) else _P_ENDERS - {"table"}

    def read(self) -> Markup:
        """Goes through the source once."""
        source, at, search = self.source, 0, _TOKEN.search
        while match := search(source, at):
            start = match.start()
            if start > at:
                self._text(at, start)
            at = match.end()
            if match[2] is None:
                continue
            tag = match[2].lower()
            if match[1]:
                if self.tags and self.tags[-1] == tag and not self.foreign:
                    self.ends.append(Run(self.open[-1], start, at))
                self._end_tag(tag)
            elif self._start_tag(tag, match) and tag in _RAW:
                at = self._raw(tag, at)
        if at < len(source):
            self._text(at, len(source))
        self.unclosed += [i for i, tag in zip(self.open, self.tags, strict=True) if tag not in _OPTIONAL_END]
        return Markup(
            source,
            elements=tuple(self.elements),
            texts=tuple(self.texts),
            styles=tuple(self.styles),
            drawn=tuple(self.drawn),
            unclosed=tuple(self.unclosed),
            ends=tuple(self.ends),
        )

    def _text(self, start: int, end: int) -> None:
        text = self.source[start:end]
        if not text.strip(_SPACE):
            return
        if "<" in text and (cut := _CUT_TAG.search(text)):
            raise PressError(
                f"the tag {text[cut.start() : cut.start() + 20]!r} has no end",
                where=Place(self.name, self.source.count("\n", 0, start + cut.start()) + 1),
                mend="close the tag with > and every quote in it",
            )
        if self.foreign:
            return
        if self.body < 0:
            self._begin_body(start)
        self.texts.append(Run((self.going_on or self.open)[-1], start, end))

    def _raw(self, tag: str, start: int) -> int:
        """Takes the raw text of an element; gives the offset of its end tag."""
        end_tag = _RAW[tag].search(self.source, start)
        end = end_tag.start() if end_tag else len(self.source)
        owner = self.open[-1]
        if tag == "style":
            self.styles.append(Run(owner, start, end))
        elif tag in _SHOWN_RAW and self.source[start:end].strip(_SPACE):
            self.texts.append(Run(owner, start, end))
        return end

    def _begin_body(self, at: int) -> None:
        """A body whose tag was left out begins at ``at``."""
        while self.tags and self.tags[-1] != "html":
            self._pop()
        self._push("body", at, at, at)
        self.body = self.open[-1]

    def _start_tag(self, tag: str, match: re.Match[str]) -> bool:
        """Opens an element; true if it stays open."""
        at, name_end, close = match.start(), match.end(2), match.end() - 1
        if self.foreign and not self._leaves_drawing(tag, match):
            return False
        if tag == "body" or (tag == "html" and self.elements):
            if self.body >= 0 or tag == "html":
                return False
            while self.tags and self.tags[-1] != "html":
                self._pop()
        elif self.body < 0 and tag not in _HEAD:
            self._begin_body(at)
        if tag in _TABLE_PARTS and "table" not in self.tags:
            return False
        self._close_implied(tag)
        self._push(tag, at, name_end, close)
        if tag == "body":
            self.body = self.open[-1]
        if tag in VOID or (tag in _FOREIGN and match[3].endswith("/")):
            self._pop()
            return False
        self.foreign = int(tag in _FOREIGN)
        return True

    def _leaves_drawing(self, tag: str, match: re.Match[str]) -> bool:
        """Notes a tag inside of a drawing; true if it is one that ends the drawing, as in 13.2.6.5."""
        if tag in _BREAKS_OUT and not any(noted == "foreignobject" for noted, _ in self.drawn):
            self.foreign = 0
            while self.tags[-1] in _FOREIGN:
                self._pop()
            return True
        if tag in _NOTED:
            self.drawn.append((tag, match.start()))
        if tag in _FOREIGN and not match[3].endswith("/"):
            self.foreign += 1
        return False

    def _push(self, tag: str, at: int, name_end: int, close: int) -> None:
        depth = len(self.open)
        if depth > DEPTH_LIMIT:
            raise PressError(
                f"elements are nested more than {DEPTH_LIMIT} deep",
                where=Place(self.name, self.source.count("\n", 0, at) + 1, tag),
                mend="look for a loop in the template that opens an element and does not close it",
            )
        parent = self.going_on[-1] if self.going_on else self.open[-1] if self.open else -1
        self.open.append(len(self.elements))
        self.tags.append(tag)
        self.elements.append(Element(tag, at, name_end, close, parent, depth))

    def _pop(self) -> None:
        self.tags.pop()
        self.open.pop()

    def _drop_to(self, at: int) -> None:
        """Ends the open elements from index ``at`` on; formatting among them goes on in what follows."""
        for index, tag in zip(self.open[at + 1 :], self.tags[at + 1 :], strict=True):
            if tag in _FORMATTING:
                self.going_on.append(index)
            if tag not in _OPTIONAL_END:
                self.unclosed.append(index)
        del self.open[at:], self.tags[at:]

    def _close_implied(self, tag: str) -> None:
        """Ends what a start tag ends without an end tag."""
        tags = self.tags
        if tag in self.ends_p and "p" in tags:
            self._close_nearest("p", _SCOPE)
        if tag == "a" and self._open_link():
            self._end_tag("a")
        elif tag in _IMPLIED:
            ended, stop = _IMPLIED[tag]
            cut = -1
            for at in range(len(tags) - 1, -1, -1):
                if tags[at] in stop:
                    break
                if tags[at] in ended:
                    cut = at
                    if tag in ("li", "dt", "dd", "button"):
                        break
            if cut >= 0:
                self._drop_to(cut)
        elif tag in _HEADINGS and tags and tags[-1] in _HEADINGS:
            self._pop()

    def _open_link(self) -> bool:
        for tag in reversed(self.tags):
            if tag == "a" or tag in _SCOPE:
                return tag == "a"
        return False

    def _close_nearest(self, tag: str, scope: frozenset[str]) -> bool:
        tags = self.tags
        for at in range(len(tags) - 1, -1, -1):
            if tags[at] == tag:
                self._drop_to(at)
                return True
            if tags[at] in scope:
                return False
        return False

    def _end_tag(self, tag: str) -> None:
        if self.foreign:
            if tag not in _FOREIGN:
                return
            self.foreign -= 1
            if self.foreign:
                return
        if tag in ("body", "html") or tag in VOID:
            return  # what follows still belongs to the body
        tags = self.tags
        if tags and tags[-1] == tag:
            self._pop()
            return
        if self.going_on and any(self.elements[i].tag == tag for i in self.going_on):
            last = max(k for k, i in enumerate(self.going_on) if self.elements[i].tag == tag)
            del self.going_on[last]
            return
        if tag in _FORMATTING and tag in tags and self._adopt(tag):
            return
        inside = tag in ("table", "tr", "tbody", "thead", "tfoot", "td", "th", "caption")
        self._close_nearest(tag, frozenset(("html", "body")) if inside else _SCOPE - {tag})

    def _adopt(self, tag: str) -> bool:
        """A formatting element ended across a block: the block stays open and takes over its text, as in 13.2.6.4.7."""
        at = len(self.tags) - 1 - self.tags[::-1].index(tag)
        blocks = [k for k in range(at + 1, len(self.tags)) if self.tags[k] in _P_ENDERS]
        if not blocks or any(self.tags[k] in _SCOPE for k in range(at, len(self.tags))):
            return False
        outer, block = self.open[at], self.open[blocks[0]]
        self.texts = [run._replace(owner=outer) if run.owner == block else run for run in self.texts]
        self.unclosed.append(outer)
        del self.open[at], self.tags[at]
        return True

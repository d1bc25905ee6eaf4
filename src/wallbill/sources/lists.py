"""Plain lists made into to-dos: a text with one thing a line, or the task lists of a Markdown page.

The grammar of a line, by open custom of such files: ``x`` and a space for done; ``(A)`` to ``(Z)`` for how much it
matters; up to two dates, of being done and of being written down; then the words, with ``+project``, ``@context`` and
``key:value`` among them, of which ``due:`` and ``pri:`` are understood. In Markdown a line is ``- [ ] words`` or
``- [x] words`` (GitHub Flavored Markdown 0.29, section 5.3), and the words follow the same grammar.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice

from wallbill.errors import Place, SourceError
from wallbill.facts.agenda import Agenda, Todo
from wallbill.findings import Finding
from wallbill.sources.kind_world import LIST_FORMATS
from wallbill.sources.plain_text import one_line
from wallbill.sources.spec import ParseContext

_MOST_THINGS = 1000
_MOST_CHARACTERS = 500
_MOST_FINDINGS = 5
_DATE = r"\d{4}-\d{2}-\d{2}"
_LINE = re.compile(
    rf"(?P<done>x\s+)?(?:\((?P<letter>[A-Z])\)\s+)?(?:(?P<first>{_DATE})\s+)?(?:(?P<second>{_DATE})\s+)?(?P<words>.*)"
)
_TAG = re.compile(r"(?<!\S)([+@])([^\W\d_]\S*)")
_KEY = re.compile(r"(?<!\S)(due|pri):(\S+)", re.IGNORECASE)
_TASK = re.compile(
    r"(?P<indent>[ \t]*)(?:[-*+]|\d{1,9}[.)])(?P<gap>[ \t]+)\[(?P<mark>[ xX])\](?:[ \t]+(?P<words>.*))?$"
)
_BULLET = re.compile(r"(?P<indent>[ \t]*)(?:[-*+]|\d{1,9}[.)])[ \t]+\S")
_HEADING = re.compile(r" {0,3}#{1,6}[ \t]+(?P<words>.*?)(?:[ \t]+#+)?[ \t]*$")
_FENCE = re.compile(r" {0,3}(?P<mark>`{3,}|~{3,})")
_MARKUP = (
    (re.compile(r"!?\[([^\[\]]{0,300})\]\([^()\s]{0,500}(?:\s\"[^\"]{0,200}\")?\)"), r"\1"),
    (re.compile(r"<(https?://[^<>\s]{1,500})>"), r"\1"),
    (re.compile(r"(\*\*|__|~~)(?=\S)(.{1,300}?)(?<=\S)\1"), r"\2"),
    (re.compile(r"(?<![\w*])\*(?=\S)([^*]{1,300}?)(?<=\S)\*(?!\w)"), r"\1"),
    (re.compile(r"(?<![\w_])_(?=\S)([^_]{1,300}?)(?<=\S)_(?!\w)"), r"\1"),
    (re.compile(r"`([^`]{1,300})`"), r"\1"),
)
_ESCAPED = re.compile(r"\\([!-/:-@\[-`{-~])")
_PRIVATE = 0xE000
"""From here on signs of no meaning stand, which hold escaped ones for a while."""


def parse(data: bytes, context: ParseContext) -> Agenda:
    """A list as an agenda without events, undone things first, then by priority and due date, else as they stand.

    In Markdown the order is the page's own, so that what belongs together stays together. A date that is none is left
    out with a finding that names its line; raises `SourceError` for a web page or a binary file.
    """
    file = str(context.spec.options.get("file") or context.spec.name)
    lines = _lines(data, file)
    markdown = _format(context) == "markdown"
    reader = _Reader(file)
    read = reader.markdown(lines) if markdown else reader.plain(lines)
    things = list(islice(read, _MOST_THINGS + 1))
    findings = reader.findings()
    if len(things) > _MOST_THINGS:
        findings = (*findings, _finding(Place(file), f"what comes after the first {_MOST_THINGS} things"))
    if not markdown:
        things.sort(key=lambda todo: todo.order(context.zone)[:4])
    name = str(context.spec.options.get("name") or "") or reader.heading or context.spec.name
    return Agenda(context.origin("list", findings=findings), name, (), tuple(things[:_MOST_THINGS]))


def _format(context: ParseContext) -> str:
    told = context.spec.options.get("format")
    if told in LIST_FORMATS:
        return str(told)
    address = str(context.spec.options.get("file") or context.spec.options.get("url") or "")
    return "markdown" if re.search(r"\.(?:md|markdown)(?:[?#]|$)", address, re.IGNORECASE) else "plain"


def _lines(data: bytes, file: str) -> list[str]:
    if b"\0" in data[:4096] and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise SourceError("this is no text", where=Place(file), mend="Give a text file in UTF-8.")
    try:
        text = data.decode("utf-16" if data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data[: fault.start].count(b"\n") + 1
        raise SourceError(
            "this is not UTF-8", where=Place(file, line), mend="Save the list as UTF-8."
        ) from None
    if re.match(r"\s*<(?:!doctype|html|\?xml)", text[:200], re.IGNORECASE):
        raise SourceError(
            "a web page came in place of a list",
            where=Place(file, 1),
            mend="Give the address of the text itself, and check that it needs no login.",
        )
    return re.split(r"\r\n|\r|\n", text)


@dataclass(frozen=True, slots=True)
class _Words:
    """A line's words taken apart."""

    todo: Todo
    bad: tuple[str, ...]


class _Reader:
    """One reading of one list; gathers what could not be read."""

    def __init__(self, file: str) -> None:
        self._file = file
        self._bad: list[tuple[int, str]] = []
        self.heading = ""

    def findings(self) -> tuple[Finding, ...]:
        """What was left out; of many, the first ones and how many there were."""
        told = [_finding(Place(self._file, line), what) for line, what in self._bad[:_MOST_FINDINGS]]
        if len(self._bad) > _MOST_FINDINGS:
            told.append(_finding(Place(self._file), "what is no date in further lines"))
        return tuple(told)

    def plain(self, lines: list[str]) -> Iterator[Todo]:
        """One thing a line; empty lines are none."""
        for number, line in enumerate(lines, 1):
            if line.strip():
                yield from self._thing(line.strip(), number)

    def markdown(self, lines: list[str]) -> Iterator[Todo]:
        """The task list items of a page, with the heading that they stand under and how deep they lie."""
        section, fence, indents = "", "", list[int]()
        for number, line in enumerate(lines, 1):
            mark = _FENCE.match(line)
            if fence:
                fence = "" if mark and mark["mark"].startswith(fence) else fence
            elif mark:
                fence = mark["mark"]
            elif heading := _HEADING.match(line):
                section, indents = one_line(_unmarked(heading["words"]), _MOST_CHARACTERS), []
                self.heading = self.heading or section
            elif bullet := _TASK.match(line) or _BULLET.match(line):
                indents = _nest(indents, len(bullet["indent"].expandtabs(4)))
                if "mark" in bullet.re.groupindex and (bullet["words"] or "").strip():
                    for todo in self._thing(_unmarked(bullet["words"].strip()), number):
                        done = todo.done or bullet["mark"] in "xX"
                        yield replace(todo, done=done, section=section, level=len(indents) - 1)

    def _thing(self, text: str, number: int) -> Iterator[Todo]:
        words = _read(text)
        self._bad += [(number, f"the date {bad[:20]!r}") for bad in words.bad]
        if words.todo.summary:
            yield words.todo


def _nest(indents: list[int], indent: int) -> list[int]:
    """The indents of the items that an item lies in, and its own last; one column more begins no new level."""
    outer = [one for one in indents if one < indent - 1]
    return [*outer, indent][:20]


def _unmarked(text: str) -> str:
    """Markdown's words without its marks; what is left of links are their words. A sign behind a backslash is no mark."""
    text = _ESCAPED.sub(lambda found: chr(_PRIVATE + ord(found[1])), text[:4000])
    for pattern, put in _MARKUP:
        text = pattern.sub(put, text)
    return re.sub(r"[\ue000-\ue07f]", lambda found: chr(ord(found[0]) - _PRIVATE), text)


def _read(text: str) -> _Words:
    """One line by the grammar."""
    found = _LINE.fullmatch(text[:4000].replace("\t", " "))
    if found is None:
        return _Words(Todo(one_line(text, _MOST_CHARACTERS)), ())
    keys = {name.lower(): value for name, value in _KEY.findall(found["words"])}
    dates = {"first": found["first"], "second": found["second"], "due": keys.get("due")}
    read = {name: _date(told) for name, told in dates.items()}
    letter = found["letter"] or keys.get("pri", "").upper()
    done = found["done"] is not None
    bare = _KEY.sub(" ", found["words"])
    return _Words(
        Todo(
            summary=one_line(_without_tags(bare), _MOST_CHARACTERS),
            due=read["due"],
            priority=min(ord(letter) - ord("A") + 1, 9) if re.fullmatch(r"[A-Z]", letter) else 0,
            done=done,
            projects=_tags(bare, "+"),
            contexts=_tags(bare, "@"),
            done_on=read["first"] if done else None,
            written_on=read["second"] if done else read["first"],
        ),
        tuple(told for name, told in dates.items() if told and read[name] is None),
    )


def _tags(words: str, sign: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one_line(name, 100) for mark, name in _TAG.findall(words) if mark == sign))


def _without_tags(words: str) -> str:
    """The words with the tags at their end taken off; of those within them only the sign is.

    Where a tag stands within the words, further ones of its sign at the end are words too: "tar and rope".
    """
    body, tail = words.rstrip(), list[str]()
    while (last := body.rsplit(None, 1)) and len(last) == 2 and _TAG.fullmatch(last[1]):
        body = last[0]
        tail.insert(0, last[1])
    within = {found[1] for found in _TAG.finditer(body)}
    return _TAG.sub(r"\2", " ".join([body, *(tag for tag in tail if tag[0] in within)]))


def _date(told: str | None) -> date | None:
    try:
        return date.fromisoformat(told) if told and re.fullmatch(_DATE, told) else None
    except ValueError:
        return None


def _finding(where: Place, what: str) -> Finding:
    return Finding(
        rule="sources.left-out",
        where=where,
        what=f"{what} is left out",
        mend="Mend the line in the list that it comes from.",
    )

"""Changes to a source, held as edits by offset, so that what was added can be taken out again exactly."""

from collections.abc import Sequence
from typing import NamedTuple

from wallbill.press.markup import Markup


class Edit(NamedTuple):
    """Puts ``text`` in place of what stands from ``start`` to ``end``."""

    start: int
    end: int
    text: str


def splice(source: str, edits: Sequence[Edit]) -> str:
    """The source with all edits done; edits at one place keep their order. They must not overlap."""
    out: list[str] = []
    at = 0
    for start, end, text in sorted(edits, key=_start):
        if start < at:
            raise ValueError(f"edits overlap at offset {start}")
        out.append(source[at:start])
        out.append(text)
        at = end
    out.append(source[at:])
    return "".join(out)


def undo(spliced: str, source: str, edits: Sequence[Edit]) -> str:
    """The source again, out of what `splice` made of it: every added text must stand where it was put."""
    out: list[str] = []
    at = moved = 0
    for start, end, text in sorted(edits, key=_start):
        here = start + moved
        if spliced[here : here + len(text)] != text:
            raise ValueError(f"the text added at offset {start} is not there")
        out += [spliced[at:here], source[start:end]]
        at = here + len(text)
        moved += len(text) - (end - start)
    out.append(spliced[at:])
    return "".join(out)


def _start(edit: Edit) -> int:
    return edit.start


def attribute_edit(markup: Markup, index: int, *, name: str, value: str) -> list[Edit]:
    """Edits that put ``value`` in the place of an attribute that the element has."""
    found = markup.attributes(markup.elements[index])[name]
    safe = value.replace("&", "&amp;").replace('"', "&quot;").replace("'", "&#39;")
    match found.quote:
        case '"' | "'":
            return [Edit(found.start, found.end, safe)]
        case "?":
            return [Edit(found.end, found.end, f'="{safe}"')]
    return [Edit(found.start, found.end, f'"{safe}"')]

"""What styles may say of an element's box: whether it cuts its contents, is turned, is placed freely, stands in a line.

Told from selectors' subjects and ``style`` attributes, with no page laid out. An answer may be yes where the cascade
says no, never the other way round; a value in ``var()`` counts as yes.
"""

import re
from collections.abc import Mapping, Sequence
from enum import IntEnum

from wallbill.press.css import Declaration
from wallbill.press.markup import Attribute
from wallbill.press.subjects import Subject, may_hold, names_of, subjects_with


class Says(IntEnum):
    """What may be said of a box.

    It cuts what leaves it; it is turned or moved when painted; it is placed out of the flow; what is placed out
    of the flow may count from it; its children are laid out by flex or grid; it stands in a line; it stands there in one piece.
    """

    CUTS = 0
    TURNS = 1
    FREE = 2
    HOLDS = 3
    LAYS_OUT = 4
    IN_LINE = 5
    ONE_PIECE = 6


_PATTERNS = tuple(
    (re.compile(name), re.compile(value, re.IGNORECASE | re.DOTALL))
    for name, value in (
        (r"overflow(-[xy]|-block|-inline)?", r"(?!visible$).*"),
        (r"transform|rotate|scale|translate|zoom", r"(?!none$).*"),
        (r"position", r"(?!static$|relative$|sticky$).*"),
        (r"position|transform", r"(?!static$|none$).*"),
        (r"display", r".*(flex|grid|var\().*"),
        (r"display", r"(inline|contents|ruby|var\().*"),
        (r"display", r"(inline[- ](block|flex|grid|table|flow)|var\().*"),
    )
)

_WORDS = (
    ("overflow",), ("transform", "rotate", "scale", "translate", "zoom"), ("position",), ("position", "transform"),
    *(("display",),) * 3,
)  # fmt: skip

Boxing = tuple[tuple[Subject, ...], ...]
"""Subjects of which each of `Says` may hold, in its order."""


def boxing_of(declarations: Sequence[Declaration]) -> Boxing:
    """What style sheets say of boxes."""
    return tuple(subjects_with(declarations, name, value) for name, value in _PATTERNS)


def may_be(what: Says, tag: str, has: Mapping[str, Attribute], *, boxing: Boxing) -> bool:
    """Whether the styles, or the element's own ``style``, may say this of an element."""
    style = has["style"].value.lower() if "style" in has else ""
    if any(word in style for word in _WORDS[what]) and any(_written(what, part) for part in style.split(";")):
        return True
    known = boxing[what] if boxing else ()
    return bool(known) and may_hold(known, names_of(tag, has))


def _written(what: Says, declaration: str) -> bool:
    name, _, value = declaration.partition(":")
    named, valued = _PATTERNS[what]
    plain = value.replace("!important", "").strip()
    return named.fullmatch(name.strip()) is not None and valued.fullmatch(plain) is not None

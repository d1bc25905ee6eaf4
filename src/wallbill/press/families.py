"""Font families in style sheets: found, and replaced by stand-ins for the probe page.

A whole list such as ``"Noto Sans", sans-serif`` is replaced by one name, so that the probe tells the list and
not only its first member. Lists reach an element through ``font-family``, through ``font``, and through custom
properties that these refer to; what a custom property holds is known by how it is used.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from wallbill.press.css import Declaration, Node, nested, significant, split, text_of
from wallbill.press.markup import words

Families = tuple[str, ...]

DEFAULT: Families = ("sans-serif",)
"""What a page that names no family gets: the standard leaves the initial value to the maker."""

MONOSPACE: Families = ("monospace",)

_GENERIC = words("""serif sans-serif monospace cursive fantasy system-ui ui-serif ui-sans-serif ui-monospace ui-rounded math
    emoji fangsong""")
_KEPT = words("inherit initial unset revert revert-layer")
_SIZE_WORDS = words("xx-small x-small small medium large x-large xx-large xxx-large larger smaller math")
_COMMON_WEIGHTS = frozenset({100, 400, 700, 900})  # what normal, bold, bolder and lighter compute to


@dataclass(slots=True)
class FamilyTable:
    """The family lists of one page, each with a number; grows while the page is read."""

    lists: list[Families] = field(default_factory=lambda: [DEFAULT, MONOSPACE])

    def name(self, families: Families) -> str:
        """The stand-in's name for a list."""
        if families not in self.lists:
            self.lists.append(families)
        return stand_in_name(self.lists.index(families))


def stand_in_name(number: int) -> str:
    """The family name of a list's stand-in: eight signs."""
    return f"wbfam{number:03d}"


def weights_of(declarations: Iterable[Declaration]) -> frozenset[int]:
    """Every weight of 1 to 1000 that a page may ask for, the common ones included."""
    found = set(_COMMON_WEIGHTS)
    for declaration in declarations:
        if declaration.name in ("font", "font-weight") or declaration.name.startswith("--"):
            for node in nested(declaration.value):
                if node.type == "number" and node.is_integer and 1 <= node.int_value <= 1000:
                    found.add(node.int_value)
    return frozenset(found)


def variables_of(declarations: Sequence[Declaration]) -> dict[str, str]:
    """Custom properties that hold families or whole fonts: their role, ``font-family`` or ``font``, by name."""
    roles: dict[str, str] = {}
    grown = True
    while grown:  # a custom property may refer to another one
        grown = False
        for declaration in declarations:
            role = roles.get(declaration.name, declaration.name)
            if role not in ("font", "font-family"):
                continue
            for name, found in _references(declaration.value, role).items():
                grown |= name not in roles
                roles.setdefault(name, found)
    return roles


def _references(value: Sequence[Node], role: str) -> dict[str, str]:
    tokens = significant(value)
    if role == "font":
        start = _family_start(tokens)
        if start is None:
            return {_variable(node): "font" for node in tokens if _variable(node)} if len(tokens) == 1 else {}
        tokens = tokens[start:]
    return {_variable(node): "font-family" for node in nested(tokens) if _variable(node)}


def _variable(node: Node) -> str:
    """The custom property that a ``var()`` refers to, or nothing."""
    if node.type != "function" or node.lower_name != "var":
        return ""
    names = significant(node.arguments)
    return str(names[0].value) if names and names[0].type == "ident" else ""


def replaced(declaration: Declaration, roles: dict[str, str], table: FamilyTable) -> str | None:
    """The declaration's value with stand-ins in place of families; None where there is nothing to replace."""
    role = roles.get(declaration.name, declaration.name)
    tokens = significant(declaration.value)
    if role == "font-family":
        return _replace_list(tokens, table)
    if role != "font":
        return None
    start = _family_start(tokens)
    if start is None or start >= len(tokens):
        return None
    return " ".join(text_of([node]) for node in tokens[:start]) + " " + _replace_list(tokens[start:], table)


def _family_start(tokens: Sequence[Node]) -> int | None:
    """Where the families begin in the value of ``font``: behind the size and the line height."""
    for at, node in enumerate(tokens):
        word = node.lower_value if node.type == "ident" else ""
        sized = node.type in ("dimension", "percentage") or word in _SIZE_WORDS
        if sized or (node.type == "function" and not _variable(node)):
            behind = at + 1
            if behind < len(tokens) and tokens[behind] == "/":
                behind += 2
            return behind
    return None


def _replace_list(tokens: Sequence[Node], table: FamilyTable) -> str:
    """A comma list with each stretch of plain names replaced; ``var()`` stays, its fallback is replaced too."""
    parts = [significant(part) for part in split(tokens)]
    if len(parts) == 1 and len(parts[0]) == 1 and getattr(parts[0][0], "lower_value", "") in _KEPT:
        return str(parts[0][0].value)
    out: list[str] = []
    for at, part in enumerate(parts):
        if any(node.type == "function" for node in part):
            out.append(" ".join(_with_fallback(node, table) for node in part))
        elif not out or not out[-1].startswith("wbfam"):
            rest = [_family(other) for other in parts[at:] if all(node.type != "function" for node in other)]
            out.append(table.name(tuple(filter(None, rest))))
    return ", ".join(out)


def _with_fallback(node: Node, table: FamilyTable) -> str:
    arguments = split(node.arguments) if node.type == "function" else []
    if not _variable(node) or len(arguments) < 2:
        return text_of([node])
    fallback = [token for part in arguments[1:] for token in (*part, _COMMA)][:-1]
    return f"var({_variable(node)}, {_replace_list(fallback, table)})"


class _Comma:
    """A comma between the parts of a fallback."""

    type = "literal"
    value = ","


_COMMA = _Comma()


def family_list(value: Sequence[Node]) -> Families:
    """The families that a value of ``font-family`` names, in order; what is no name is passed over."""
    parts = [significant(part) for part in split(value)]
    plain = [part for part in parts if all(node.type in ("ident", "string") for node in part)]
    return tuple(filter(None, map(_family, plain)))


def font_parts(value: Sequence[Node]) -> tuple[Sequence[Node], Families] | None:
    """What stands before the families in a value of ``font``, and the families; None where there are none."""
    tokens = significant(value)
    start = _family_start(tokens)
    if start is None or not (families := family_list(tokens[start:])):
        return None
    return tokens[:start], families


def _family(part: Sequence[Node]) -> str:
    """A family name as the standard joins it: a string, or words with one space; keywords in lower case."""
    if len(part) == 1 and part[0].type == "string":
        return str(part[0].value)
    name = " ".join(str(node.value) for node in part if node.type == "ident")
    return name.lower() if name.lower() in _GENERIC else name

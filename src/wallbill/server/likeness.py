"""Which displays would show the same picture: it is pressed once and put up on each."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

import jinja2
from jinja2 import nodes

from wallbill.wall.model import Display

_SUFFIX = ".html"


def like_displays(displays: Mapping[str, Display], texts: Mapping[str, str]) -> tuple[tuple[str, ...], ...]:
    """Groups of names: within one all settings are equal but for the name, and no sheet asks for that.

    ``texts``: of ``sheets/`` by file name. Told from the sheets' text: in doubt a display is in a group of its own.
    """
    parsed = _Parsed(texts)
    groups: dict[tuple[str, str, int], list[tuple[Display, list[str]]]] = {}
    alone: list[tuple[str, ...]] = []
    verdicts: dict[tuple[str, ...], bool] = {}
    for name, display in displays.items():
        asks = (*display.sheets(), "", *(interrupt.when for interrupt in display.interrupts))
        if asks not in verdicts:
            conditions = [interrupt.when for interrupt in display.interrupts]
            verdicts[asks] = parsed.any_asks(display.sheets()) or any(map(_condition_asks, conditions))
        if verdicts[asks]:
            alone.append((name,))
            continue
        bare = replace(display, name="", battery_empty=None)
        near = groups.setdefault((display.panel.name, display.sheet, display.turned), [])
        for known, names in near:
            if known == bare:
                names.append(name)
                break
        else:
            near.append((bare, [name]))
    found = [*alone, *(tuple(names) for near in groups.values() for _, names in near)]
    order = {name: at for at, name in enumerate(displays)}
    return tuple(sorted(found, key=lambda names: order[names[0]]))


def asks_for_name(sheets: Iterable[str], texts: Mapping[str, str]) -> bool:
    """Whether any of these sheets (no ending), or what they include, may ask for the name of its display."""
    return _Parsed(texts).any_asks(sheets)


class _Parsed:
    """The sheets of a wall as syntax trees, each looked at once."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self._texts = texts
        self._known: dict[str, tuple[bool, frozenset[str]]] = {}

    def any_asks(self, sheets: Iterable[str]) -> bool:
        """Whether a sheet, or one that it leads to, asks for the display's name."""
        todo, seen = [f"{sheet}{_SUFFIX}" for sheet in sheets], set[str]()
        while todo:
            name = todo.pop()
            if name in seen or name not in self._texts:
                continue
            seen.add(name)
            asks, leads = self._looked_at(name)
            if asks:
                return True
            todo.extend(leads)
        return False

    def _looked_at(self, name: str) -> tuple[bool, frozenset[str]]:
        if name not in self._known:
            tree = _tree(self._texts[name])
            self._known[name] = (
                (True, frozenset()) if tree is None else (_asks(tree), _leads(tree, self._texts))
            )
        return self._known[name]


def _tree(text: str) -> nodes.Template | None:
    """The syntax tree of a template, None for one that cannot be read."""
    try:
        return jinja2.Environment(  # noqa: S701  nothing is filled in here
            extensions=["jinja2.ext.do", "jinja2.ext.loopcontrols"]
        ).parse(text)
    except jinja2.TemplateError:
        return None


def _condition_asks(expression: str) -> bool:
    tree = _tree(f"{{{{ ({expression}) }}}}")
    return tree is None or _asks(tree)


def _asks(tree: nodes.Node) -> bool:
    """Whether ``display.name`` is read, or ``display`` handed on as a whole."""
    read: list[nodes.Getattr | nodes.Getitem] = [*tree.find_all(nodes.Getattr), *tree.find_all(nodes.Getitem)]
    parts = [part for part in read if _is_display(part.node)]
    if any(_part(part) in {"name", None} for part in parts):
        return True
    whole = sum(_is_display(name) for name in tree.find_all(nodes.Name))
    return whole > len(parts) or any(tree.find_all(nodes.ContextReference))


def _is_display(node: nodes.Node) -> bool:
    return isinstance(node, nodes.Name) and node.name == "display"


def _part(node: nodes.Getattr | nodes.Getitem) -> str | None:
    """The part of ``display`` that is read, None where it is reckoned."""
    if isinstance(node, nodes.Getattr):
        return node.attr
    return str(node.arg.value) if isinstance(node.arg, nodes.Const) else None


def _leads(tree: nodes.Template, known: Collection[str]) -> frozenset[str]:
    """Files that a template includes, imports or extends; all there are where a name is reckoned."""
    found: set[str] = set()
    named = (
        *(node.template for node in tree.find_all(nodes.Include)),
        *(node.template for node in tree.find_all(nodes.Import)),
        *(node.template for node in tree.find_all(nodes.FromImport)),
        *(node.template for node in tree.find_all(nodes.Extends)),
    )
    for template in named:
        listed = template.items if isinstance(template, nodes.List | nodes.Tuple) else [template]
        for each in listed:
            if not isinstance(each, nodes.Const):
                return frozenset(known)
            found.update(each.value if isinstance(each.value, tuple | list) else (str(each.value),))
    return frozenset(found)

"""The law of rooms: imports go up the table only, hidden ones included, and no module is in a ring."""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.source_tree import SOURCE, Module, modules, rooms


def _imports(module: Module) -> Iterator[tuple[ast.AST, str]]:
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node, alias.name
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module.place(node)}: relative import"
            for alias in node.names:
                yield node, f"{node.module}.{alias.name}"


def _ours(name: str) -> str | None:
    """The room of an imported name of ours, None for other people's."""
    parts = name.split(".")
    if parts[0] != "wallbill" or len(parts) < 2 or parts[1].startswith("_"):
        return None
    return parts[1]


def _breaches(module: Module, order: tuple[str, ...]) -> list[str]:
    found = []
    for node, name in _imports(module):
        room = _ours(name)
        if room is not None and module.room in order and order.index(room) > order.index(module.room):
            found.append(f"{module.place(node)}: {module.room} reaches down to {room}")
    return found


def test_every_room_stands_in_the_table() -> None:
    here = {m.room for m in modules()} - {"__init__", "__main__"}
    assert here <= set(rooms()), f"not in docs/ARCHITECTURE.md: {sorted(here - set(rooms()))}"
    assert set(rooms()) <= here, f"in the table, but not in the source: {sorted(set(rooms()) - here)}"


def test_rooms_import_only_rooms_above_them() -> None:
    breaches = [breach for module in modules() for breach in _breaches(module, rooms())]
    assert not breaches, "\n".join(breaches)


def test_the_law_catches_a_hidden_import() -> None:
    text = "def f() -> None:\n    from wallbill.cli import main\n"
    fault = Module(Path("inks/fault.py"), "inks", text, ast.parse(text))
    assert _breaches(fault, rooms()) == ["src/wallbill/inks/fault.py:2: inks reaches down to cli"]


def _files(name: str) -> Path | None:
    """The file of an imported name of ours."""
    parts = name.split(".")[1:]
    for end in (len(parts), len(parts) - 1):
        at = SOURCE.joinpath(*parts[:end])
        for file in (at.with_suffix(".py"), at / "__init__.py"):
            if end and file.exists():
                return file.relative_to(SOURCE)
    return None


def test_no_module_is_in_a_ring() -> None:
    graph: dict[Path, set[Path]] = {
        m.path: {f for _, n in _imports(m) if n.startswith("wallbill.") and (f := _files(n))}
        for m in modules()
    }
    done: set[Path] = set()

    def visit(path: Path, trail: tuple[Path, ...]) -> None:
        assert path not in trail, "ring: " + " -> ".join(map(str, (*trail, path)))
        if path not in done:
            for other in graph.get(path, set()):
                visit(other, (*trail, path))
            done.add(path)

    for path in graph:
        visit(path, ())


def test_a_room_says_what_it_is_for_and_does_no_work() -> None:
    for module in modules():
        if module.path.name == "__init__.py":
            assert ast.get_docstring(module.tree), f"{module.path}: no docstring"
            work = [
                n for n in module.tree.body[1:] if not isinstance(n, ast.Import | ast.ImportFrom | ast.Assign)
            ]
            assert not work, f"{module.path} does work"

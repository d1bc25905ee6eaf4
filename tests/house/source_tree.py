"""The package's source as syntax trees, read once for the tests of the house."""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "wallbill"


@dataclass(frozen=True, slots=True)
class Module:
    """One source file: its path under the package, its room, its text and its tree."""

    path: Path
    room: str
    text: str
    tree: ast.Module

    def place(self, node: ast.AST) -> str:
        """Where a node stands, as file:line."""
        return f"src/wallbill/{self.path}:{getattr(node, 'lineno', 1)}"


def _room(path: Path) -> str:
    return path.parts[0] if len(path.parts) > 1 else path.stem


@cache
def modules() -> tuple[Module, ...]:
    """Every module of the package."""
    found = []
    for file in sorted(SOURCE.rglob("*.py")):
        path = file.relative_to(SOURCE)
        text = file.read_text(encoding="utf-8")
        found.append(Module(path, _room(path), text, ast.parse(text)))
    return tuple(found)


@cache
def rooms() -> tuple[str, ...]:
    """The rooms in order from the ground up, as docs/ARCHITECTURE.md lists them."""
    table = (
        (ROOT / "docs" / "ARCHITECTURE.md").read_text(encoding="utf-8").split("## Rooms")[1].split("## ")[0]
    )
    return tuple(re.findall(r"^\| `([a-z]+)` \|", table, flags=re.MULTILINE))


def functions(module: Module) -> Iterator[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef, bool]]:
    """Every function with its dotted name, and whether it is a public one (reachable by public names only)."""

    def walk(
        body: list[ast.stmt], prefix: str, *, public: bool
    ) -> Iterator[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef, bool]]:
        for node in body:
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                seen = public and not node.name.startswith("_")
                yield prefix + node.name, node, seen
                yield from walk(node.body, f"{prefix}{node.name}.", public=False)
            elif isinstance(node, ast.ClassDef):
                yield from walk(
                    node.body, f"{prefix}{node.name}.", public=public and not node.name.startswith("_")
                )

    yield from walk(module.tree.body, "", public=True)

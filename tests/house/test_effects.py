"""Only files named shell.py or shell_*.py may touch the clock, disk, network, environment or randomness."""

import ast
from pathlib import Path

from tests.house.source_tree import Module, modules

_MODULES = frozenset(
    [
        "asyncio",
        "http",
        "httpx2",
        "io_open",
        "multiprocessing",
        "os",
        "random",
        "secrets",
        "select",
        "shutil",
        "signal",
        "smtplib",
        "socket",
        "sqlite3",
        "ssl",
        "subprocess",
        "tempfile",
        "threading",
        "concurrent",
        "time",
        "urllib.request",
        "playwright",
    ]
)
_CALLS = frozenset(
    {"open", "input", "print", "datetime.now", "datetime.utcnow", "datetime.today", "date.today", "time.time",
     "resources.files", "importlib.resources.files", "uuid.uuid4", "uuid.uuid1"}
)  # fmt: skip
_METHODS = frozenset(
    [
        "read_text",
        "write_text",
        "read_bytes",
        "write_bytes",
        "unlink",
        "mkdir",
        "rmdir",
        "touch",
        "rename",
        "iterdir",
        "glob",
        "rglob",
        "stat",
        "exists",
        "is_file",
        "is_dir",
    ]
)


def _dotted(node: ast.AST) -> str:
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        return f"{_dotted(node.value)}.{node.attr}"
    return "?"


def _is_shell(path: Path) -> bool:
    """Shells by name; the command line is a shell as a whole."""
    return path.stem == "shell" or path.stem.startswith("shell_") or path.parts[0] == "cli"


def effects(module: Module) -> list[str]:
    """Every effect in a module, as file:line and what it is."""
    found = []
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        else:
            names = []
        found += [
            f"{module.place(node)} imports {name}"
            for name in names
            if name in _MODULES or name.split(".")[0] in _MODULES - {"urllib.request"}
        ]
        if isinstance(node, ast.Global):
            found.append(f"{module.place(node)} global {', '.join(node.names)}")
        if isinstance(node, ast.Call):
            name = _dotted(node.func)
            if name in _CALLS or ".".join(name.split(".")[-2:]) in _CALLS:
                found.append(f"{module.place(node)} calls {name}")
            elif isinstance(node.func, ast.Attribute) and node.func.attr in _METHODS:
                found.append(f"{module.place(node)} calls .{node.func.attr}")
    return found


def test_effects_stay_in_shells() -> None:
    found = [effect for module in modules() if not _is_shell(module.path) for effect in effects(module)]
    assert not found, "\n".join(found)


def test_the_net_catches() -> None:
    text = "import socket\nfrom datetime import datetime\nx = datetime.now()\nopen('f')\np.write_text('')\n"
    caught = effects(Module(Path("inks/fault.py"), "inks", text, ast.parse(text)))
    assert [effect.split()[-1] for effect in caught] == ["socket", "datetime.now", "open", ".write_text"]


def test_nothing_mutable_stands_at_module_level() -> None:
    found = []
    for module in modules():
        for node in module.tree.body:
            value = node.value if isinstance(node, ast.Assign | ast.AnnAssign) else None
            named_all = isinstance(node, ast.Assign) and _dotted(node.targets[0]) == "__all__"
            if (
                isinstance(value, ast.List | ast.Dict | ast.Set | ast.ListComp | ast.DictComp)
                and not named_all
            ):
                found.append(module.place(node))
    assert not found, "\n".join(found)


def test_only_the_command_line_prints() -> None:
    found = [
        module.place(node)
        for module in modules()
        if module.room != "cli"
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and _dotted(node.func) == "print"
    ]
    assert not found, "\n".join(found)

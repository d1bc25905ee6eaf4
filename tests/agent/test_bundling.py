"""The agent's file: only the standard library of Python 3.9, reproducible, and written by `wallbill agent bundle`."""

import ast
import io
import json
import subprocess
import sys
import zipfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.agent.agents import PYTHON
from wallbill.agent.bundling import HOME, NAME, bundle, renamed, settings_for
from wallbill.agent.device.settings import read_settings
from wallbill.agent.shell import device_modules
from wallbill.cli.cmd_agent import command
from wallbill.errors import WallbillError, WallError
from wallbill.panels.shell import load_panels
from wallbill.wall.shell import load_wall
from wallbill.wall.shell_new import make_wall

# What the device code uses, each in the standard library of 3.9 (docs.python.org/3.9/py-modindex.html, from memory).
_KNOWN = frozenset(
    [
        "__future__",
        "base64",
        "binascii",
        "collections",
        "contextlib",
        "datetime",
        "errno",
        "fcntl",
        "hashlib",
        "importlib",
        "json",
        "os",
        "pathlib",
        "re",
        "select",
        "signal",
        "socket",
        "ssl",
        "stat",
        "struct",
        "subprocess",
        "sys",
        "time",
        "tkinter",
        "types",
        "typing",
        "zlib",
    ]
)
# Names that came after 3.9, as attributes or as keywords ("What's New in Python 3.10" to 3.13, from memory).
_LATER = frozenset(
    [
        "bit_count",
        "pairwise",
        "batched",
        "UTC",
        "StrEnum",
        "TypeAlias",
        "ParamSpec",
        "TypeGuard",
        "Self",
        "Never",
        "LiteralString",
        "assert_never",
        "reveal_type",
        "ExceptionGroup",
        "add_note",
        "aiter",
        "anext",
        "tomllib",
        "file_digest",
        "chdir",
        "walk",
        "is_junction",
        "itertools_batched",
        "override",
        "Required",
        "NotRequired",
        "Unpack",
        "dataclass_transform",
        "timeout_at",
        "TaskGroup",
    ]
)


def _trees() -> dict[str, ast.Module]:
    return {
        name: ast.parse(text, filename=name, feature_version=(3, 9))
        for name, text in device_modules().items()
    }


def test_every_module_has_the_grammar_of_python_3_9() -> None:
    assert len(_trees()) > 20
    with pytest.raises(SyntaxError):  # the net catches
        ast.parse("match x:\n    case 1: pass\n", feature_version=(3, 9))


def test_only_itself_and_the_standard_library_are_imported() -> None:
    found = set()
    for name, tree in _trees().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                module = node.module or ""
                if module == HOME:
                    assert all(f"{alias.name}.py" in device_modules() for alias in node.names), name
                elif module.startswith(f"{HOME}."):
                    assert f"{module.rsplit('.', 1)[1]}.py" in device_modules(), f"{name}: {module}"
                else:
                    found.add(module.split(".")[0])
    assert found <= _KNOWN, found - _KNOWN
    assert sys.stdlib_module_names | {"__future__"} >= _KNOWN


def test_nothing_later_than_python_3_9_is_used() -> None:
    for name, tree in _trees().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute):
                assert node.attr not in _LATER, f"{name}:{node.lineno} .{node.attr}"
            elif isinstance(node, ast.Name):
                assert node.id not in _LATER, f"{name}:{node.lineno} {node.id}"
            elif isinstance(node, ast.Call):
                called = ast.unparse(node.func)
                words = {word.arg for word in node.keywords}
                assert not (called == "zip" and "strict" in words), f"{name}:{node.lineno}"
                assert "slots" not in words, f"{name}:{node.lineno}"
                if called == "isinstance":
                    assert not isinstance(node.args[1], ast.BinOp), (
                        f"{name}:{node.lineno} a union at run time"
                    )
                if called.endswith(".to_bytes"):
                    assert len(node.args) == 2, f"{name}:{node.lineno} both were needed before 3.11"


def test_the_clock_on_the_wall_is_never_asked() -> None:
    for name, text in device_modules().items():
        for asked in ("time.time(", "datetime.now", "localtime", "gmtime", "CLOCK_REALTIME"):
            assert asked not in text, name


def test_the_file_holds_nothing_of_wallbill_but_the_agent(tmp_path: Path) -> None:
    data = bundle(device_modules(), {"v": 1})
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        names = set(archive.namelist())
        assert {"__main__.py", "settings.json", f"{NAME}/shell_wake.py"} <= names
        for name in names:
            assert name in {"__main__.py", "settings.json"} or name.startswith(f"{NAME}/")
            text = archive.read(name).decode()
            assert "from wallbill." not in text
            assert "import wallbill." not in text
    assert data.startswith(b"#!/usr/bin/env python3\n")
    file = tmp_path / "agent.pyz"
    file.write_bytes(data)
    code = f"import sys; sys.path.insert(0, {str(file)!r}); import {NAME}.shell_main; print('wallbill' in sys.modules)"
    ended = subprocess.run([PYTHON, "-I", "-S", "-c", code], capture_output=True, text=True, check=True)
    assert ended.stdout == "False\n"  # without site packages, so it stands on its own


def test_renaming_touches_imports_only() -> None:
    text = f'"""{HOME}.x"""\nfrom {HOME}.x import y\nimport {HOME}.z\n    from {HOME}.x import w\nfrom {HOME}s import n\n'
    assert renamed(text) == (
        f'"""{HOME}.x"""\nfrom {NAME}.x import y\nimport {NAME}.z\n    from {NAME}.x import w\nfrom {HOME}s import n\n'
    )


def test_the_same_display_gives_the_same_bytes() -> None:
    modules = device_modules()
    assert bundle(modules, {"v": 1}) == bundle(dict(sorted(modules.items(), reverse=True)), {"v": 1})


@pytest.fixture
def wall(tmp_path: Path) -> Path:
    folder = tmp_path / "wall"
    make_wall(folder)
    return folder


def test_every_panel_has_good_settings(wall: Path) -> None:
    (name, display), *_ = load_wall(wall).displays.items()
    for panel in load_panels().values():
        values = settings_for(
            replace(display, panel=panel, every=timedelta(seconds=30)), "http://wall.example:8000/", over={}
        )
        found = read_settings(values, file="f")
        assert found.display == name
        assert found.panel.ink_names == tuple(ink.name for ink in panel.inks)
        assert found.limits.least_interval_s == panel.refresh.least_interval_s
        assert found.limits.full_s == panel.refresh.full_s
        assert found.form == ("png" if len(panel.inks) > 4 else "plates")
        assert found.usual_s == 60
        if panel.climate is not None:
            assert (found.limits.lowest_c, found.limits.highest_c) == (
                panel.climate.lowest_c,
                panel.climate.highest_c,
            )


def test_settings_laid_over_are_checked(wall: Path) -> None:
    display = next(iter(load_wall(wall).displays.values()))
    over: dict[str, Any] = {"glass": {"adapter": "module", "show": "hall_panel:show", "path": None}}
    assert settings_for(display, "http://wall.example", over=over)["glass"]["show"] == "hall_panel:show"
    with pytest.raises(WallError, match=r"glass\.adapter: is 'x'"):
        settings_for(display, "http://wall.example", over={"glass": {"adapter": "x"}})
    with pytest.raises(WallError, match="give the server's address"):
        settings_for(display, "wall.example", over={})


def _bundle(wall: Path, out: Path, *more: str) -> Path:
    display = next(iter(load_wall(wall).displays))
    ended = CliRunner().invoke(
        command,
        ["bundle", str(wall), display, "--url", "http://127.0.0.1:1", "--out", str(out), *more],
        catch_exceptions=False,
    )
    assert ended.exit_code == 0, ended.output
    return out


def test_the_command_writes_an_agent_that_runs(wall: Path, tmp_path: Path) -> None:
    key = tmp_path / "given"
    key.write_text("the-key-of-one-display\n", encoding="ascii")
    extra = tmp_path / "extra.json"
    extra.write_text('{"glass": {"form": "bmp"}}', encoding="utf-8")
    out = _bundle(wall, tmp_path / "hall.pyz", "--key-file", str(key), "--settings", str(extra))
    assert b"the-key-of-one-display" not in out.read_bytes()
    beside = tmp_path / "hall.key"
    assert beside.read_text(encoding="ascii") == "the-key-of-one-display\n"
    assert beside.stat().st_mode & 0o777 == 0o600
    assert out.stat().st_mode & 0o777 == 0o755
    with zipfile.ZipFile(out) as archive:
        assert json.loads(archive.read("settings.json"))["glass"]["form"] == "bmp"
    first = out.read_bytes()
    assert _bundle(wall, out, "--settings", str(extra)).read_bytes() == first
    ended = subprocess.run([PYTHON, str(out), "check"], capture_output=True, text=True, check=False)
    assert (ended.returncode, ended.stdout) == (0, "the settings are good\n")
    ended = subprocess.run(
        [PYTHON, str(out), "pattern", "--state", str(tmp_path / "state")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.stdout.startswith("shown:"), ended


def test_a_key_goes_inside_only_when_asked(wall: Path, tmp_path: Path) -> None:
    key = tmp_path / "given"
    key.write_text("the-key-of-one-display\n", encoding="ascii")
    out = _bundle(wall, tmp_path / "hall.pyz", "--key-file", str(key), "--key-inside")
    with zipfile.ZipFile(out) as archive:
        assert json.loads(archive.read("settings.json"))["key"] == "the-key-of-one-display"
    assert not (tmp_path / "hall.key").exists()
    assert out.stat().st_mode & 0o777 == 0o700
    ended = CliRunner().invoke(command, ["bundle", "x", "y", "--url", "z", "--out", "o", "--key-inside"])
    assert ended.exit_code == 2
    assert "--key-inside needs --key-file" in ended.output


def test_what_is_wrong_is_told(wall: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.json"
    bad.write_text("{\n1: 2}", encoding="utf-8")
    display = next(iter(load_wall(wall).displays))
    start = ["bundle", str(wall), display, "--url", "http://a", "--out", str(tmp_path / "o.pyz")]
    for more, told in (
        (["--settings", str(bad)], "bad.json:2"),
        (["--key-file", str(bad)], "that is no key"),
    ):
        with pytest.raises(WallbillError) as caught:
            CliRunner().invoke(command, [*start, *more], catch_exceptions=False)
        assert told in str(caught.value)
    with pytest.raises(WallbillError, match="nowhere"):
        CliRunner().invoke(command, ["bundle", str(wall), "nowhere", *start[3:]], catch_exceptions=False)
    assert not (tmp_path / "o.pyz").exists()

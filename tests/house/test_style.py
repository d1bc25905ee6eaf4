"""Sizes, docstrings and names: signs to look at, with a list of exceptions that a reviewer can read."""

import ast
import re

from tests.house.source_tree import ROOT, functions, modules

FILE_LINES = 400
FUNCTION_LINES = 50
PARAMETERS = 5
POSITIONAL = 3

# name of the file or function -> why it may be larger
LARGE_FILES: dict[str, str] = {}
LARGE_FUNCTIONS: dict[str, str] = {}
MANY_PARAMETERS: dict[str, str] = {}

# A bare number of one of these names must say its unit.
_MEASURED = re.compile(
    r"^(width|height|size|angle|timeout|distance|radius|margin|offset|thickness|duration)$"
)


def test_files_are_of_one_subject() -> None:
    large = {str(m.path): m.text.count("\n") for m in modules() if m.text.count("\n") > FILE_LINES}
    assert set(large) == set(LARGE_FILES), large


def test_functions_are_short() -> None:
    large = {
        f"{m.path}:{name}": node.end_lineno - node.lineno + 1
        for m in modules()
        for name, node, _ in functions(m)
        if node.end_lineno and node.end_lineno - node.lineno + 1 > FUNCTION_LINES
    }
    assert set(large) == set(LARGE_FUNCTIONS), large


def test_parameters_are_few_and_named() -> None:
    many = {}
    for module in modules():
        for name, node, public in functions(module):
            args = node.args
            positional = [a for a in (*args.posonlyargs, *args.args) if a.arg not in {"self", "cls"}]
            too_many_by_place = public and len(positional) > POSITIONAL
            if len(positional) + len(args.kwonlyargs) > PARAMETERS or too_many_by_place:
                many[f"{module.path}:{name}"] = len(positional) + len(args.kwonlyargs)
    assert set(many) == set(MANY_PARAMETERS), many


def test_public_names_have_docstrings() -> None:
    bare = []
    for module in modules():
        bare += [
            module.place(n) for name, n, public in functions(module) if public and not ast.get_docstring(n)
        ]
        bare += [
            module.place(node)
            for node in ast.walk(module.tree)
            if isinstance(node, ast.ClassDef)
            and not node.name.startswith("_")
            and not ast.get_docstring(node)
        ]
        if not ast.get_docstring(module.tree):
            bare.append(f"src/wallbill/{module.path}: no docstring")
    assert not bare, "\n".join(bare)


def test_measured_parameters_say_their_unit() -> None:
    bare = [
        f"{module.place(node)} {name}({arg.arg})"
        for module in modules()
        for name, node, public in functions(module)
        if public
        for arg in (*node.args.args, *node.args.kwonlyargs)
        if _MEASURED.match(arg.arg)
        and isinstance(arg.annotation, ast.Name)
        and arg.annotation.id in {"int", "float"}
    ]
    assert not bare, "\n".join(bare)


def test_exceptions_to_the_linter_give_their_reason() -> None:
    bare = []
    for file in (*(ROOT / "src").rglob("*.py"), *(ROOT / "tests").rglob("*.py")):
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
            marked = re.search(r"#\s*(noqa|type:\s*ignore)(.*)$", line)
            if marked and not re.match(
                r"(\[[\w-]+(, ?[\w-]+)*\]|: ?[A-Z]+\d+(, ?[A-Z]+\d+)*)\s+\S+", marked.group(2)
            ):
                bare.append(f"{file.relative_to(ROOT)}:{number}")
    assert not bare, "\n".join(bare)

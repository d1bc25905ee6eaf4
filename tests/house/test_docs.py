"""What the documents say must hold: links lead somewhere, findings and commands have their place."""

import ast
import re
from pathlib import Path

from tests.house.source_tree import ROOT, modules


def _documents() -> list[Path]:
    return [*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md"), *(ROOT / "examples").rglob("*.md")]


def test_links_lead_somewhere() -> None:
    broken = [
        f"{document.relative_to(ROOT)} -> {target}"
        for document in _documents()
        for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", document.read_text(encoding="utf-8"))
        if "://" not in target and not (document.parent / target).exists()
    ]
    assert not broken, "\n".join(broken)


def test_every_rule_of_a_finding_has_a_heading() -> None:
    rooms = "faces|press|inks|blocks|sources|sheets|wall|panels"
    rules = {
        node.value
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and re.fullmatch(rf"({rooms})\.[a-z]+(-[a-z]+)*", node.value)
        and not node.value.endswith((".toml", ".css", ".html", ".py"))
    }
    pages = "\n".join(page.read_text(encoding="utf-8") for page in (ROOT / "docs" / "reference").glob("*.md"))
    headings = set(re.findall(r"^#+ `([a-z]+\.[a-z-]+)`", pages, flags=re.MULTILINE))
    assert rules <= headings, f"no heading in docs/reference/ for {sorted(rules - headings)}"


def test_every_dependency_has_a_decision() -> None:
    listed = re.findall(
        r'^    "([a-z0-9-]+)[><=]', (ROOT / "pyproject.toml").read_text(encoding="utf-8"), re.MULTILINE
    )
    records = "\n".join(
        page.read_text(encoding="utf-8") for page in (ROOT / "docs" / "decisions").glob("*.md")
    )
    missing = [name for name in listed if f"`{name}`" not in records]
    assert not missing, f"no decision record names {missing}"


def test_nothing_holds_a_path_of_this_machine_or_a_registry() -> None:
    marks = re.compile(
        "|".join(
            (
                "/" + "work/",
                "/" + "root/",
                "/tmp/" + "bash",
                "pypi" + r"\.org",
                "python" + "hosted",
                r"\.\./" + "shared",
            )
        )
    )
    skip = {
        ".venv",
        ".git",
        "build",
        "node_modules",
        ".mypy_cache",
        ".ruff_cache",
        ".pytest_cache",
        ".hypothesis",
    }
    found = []
    for file in ROOT.rglob("*"):
        if not skip & set(file.parts) and file.suffix in {
            ".py",
            ".md",
            ".toml",
            ".sh",
            ".html",
            ".css",
            ".txt",
            ".json",
        }:
            for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
                if marks.search(line):
                    found.append(f"{file.relative_to(ROOT)}:{number}")
    assert not found, "\n".join(found)


def test_every_decision_is_listed() -> None:
    folder = ROOT / "docs" / "decisions"
    listed = set(re.findall(r"\]\((\d{4}-[^)]+\.md)\)", (folder / "README.md").read_text(encoding="utf-8")))
    assert listed == {record.name for record in folder.glob("[0-9]*.md")}, "run scripts/list_decisions.py"


def test_every_reference_page_is_listed() -> None:
    index = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    pages = {page.relative_to(ROOT / "docs").as_posix() for page in (ROOT / "docs").glob("*/*.md")}
    missing = {page for page in pages if f"({page})" not in index and not page.startswith("decisions/")}
    assert not missing, sorted(missing)

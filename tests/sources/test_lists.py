"""Plain lists and Markdown task lists as to-dos."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sources.world_bench import PAYLOADS, context

from wallbill.errors import SourceError
from wallbill.facts.agenda import Agenda, Todo
from wallbill.sources.lists import parse

LONDON = ZoneInfo("Europe/London")


def read(text: str | bytes, **options: object) -> Agenda:
    return parse(text.encode() if isinstance(text, str) else text, context("list", options=options))


def one(line: str) -> Todo:
    (todo,) = read(line).todos
    return todo


def test_a_plain_list() -> None:
    found = read((PAYLOADS / "todo.txt").read_bytes(), file="todo.txt")
    assert [(t.summary, t.priority, t.done) for t in found.todos] == [
        ("Order paper for the board", 1, False),
        ("Check the boiler", 2, False),
        ("Water the lemon tree", 0, False),
        ("Bleed the radiators", 0, True),
    ]
    first, boiler, _, done = found.todos
    assert (first.due, first.written_on, first.projects, first.contexts) == (
        date(2026, 3, 20), date(2026, 3, 10), ("hall",), ("office",)
    )  # fmt: skip
    assert boiler.contexts == ("cellar",)
    assert (done.done_on, done.written_on) == (date(2026, 3, 12), date(2026, 3, 1))
    assert found.undone[0].summary == "Order paper for the board"
    assert first.overdue(datetime(2026, 3, 21, 9, tzinfo=UTC), LONDON)


@pytest.mark.parametrize(
    ("line", "todo"),
    [
        # The open line grammar of such files: done, priority, dates, words, tags; common practice, no standard.
        ("(A) Call", Todo("Call", priority=1)),
        ("(Z) Call", Todo("Call", priority=9)),
        ("(a) Call", Todo("(a) Call")),
        ("Call (A) them", Todo("Call (A) them")),
        ("(A)Call", Todo("(A)Call")),
        ("x Call", Todo("Call", done=True)),
        ("X Call", Todo("X Call")),
        ("xylophone", Todo("xylophone")),
        ("x 2026-03-12 Call pri:B", Todo("Call", priority=2, done=True, done_on=date(2026, 3, 12))),
        ("2026-03-01 Call", Todo("Call", written_on=date(2026, 3, 1))),
        ("Call about +tar and +rope @quay", Todo("Call about tar and rope", projects=("tar", "rope"), contexts=("quay",))),
        ("Write to keeper@hut.invalid, 2+2", Todo("Write to keeper@hut.invalid, 2+2")),
        ("Ring +44 1234", Todo("Ring +44 1234")),
        ("Read http://a.invalid/b:c due:2026-04-01", Todo("Read http://a.invalid/b:c", due=date(2026, 4, 1))),
        ("+only @tags", Todo("only", projects=("only",), contexts=("tags",))),
    ],
)  # fmt: skip
def test_lines(line: str, todo: Todo) -> None:
    found = one(line)
    assert found == todo


def test_a_date_that_is_none_is_told_with_its_line() -> None:
    found = read("Fine\nBad due:2026-02-30\n")
    assert found.todos[1].due is None
    (finding,) = found.origin.findings
    assert (finding.rule, finding.where.line) == ("sources.left-out", 2)
    many = read("\n".join("Bad due:2026-13-01" for _ in range(50)))
    assert len(many.origin.findings) == 6


def test_a_markdown_page() -> None:
    found = read((PAYLOADS / "shopping.md").read_bytes(), file="shopping.md")
    assert found.name == "Shopping"
    assert [(t.summary, t.done, t.level) for t in found.todos] == [
        ("Oats", False, 0), ("Coffee", True, 0), ("filters", False, 1), ("Lamp oil, 2 l", False, 0)
    ]  # fmt: skip
    assert {t.section for t in found.todos} == {"Shopping"}


def test_markdown_marks_are_taken_off_and_code_is_left_alone() -> None:
    page = """# Hut *list* #
- [ ] **Paint** the [door](https://a.invalid/x "t") ~~twice~~
1. [x] `scrape` _old_ paint due:2026-03-20 @quay
- not a task
   - [ ] snake_case and 2 * 3 * 4 and \\*stars\\*
```
- [ ] in a fence
```
    - [ ] deep
- [ ]
- [y] no
-[ ] no
## Boats
+ [ ] ![buoy](b.png) <https://a.invalid>
"""
    found = read(page, format="markdown")
    assert [(t.summary, t.done, t.level, t.section) for t in found.todos] == [
        ("Paint the door twice", False, 0, "Hut list"),
        ("scrape old paint", True, 0, "Hut list"),
        ("snake_case and 2 * 3 * 4 and *stars*", False, 1, "Hut list"),
        ("deep", False, 1, "Hut list"),
        ("buoy https://a.invalid", False, 0, "Boats"),
    ]
    assert found.todos[1].due == date(2026, 3, 20)
    assert found.todos[1].contexts == ("quay",)


def test_the_task_lists_of_the_markdown_specification() -> None:
    # GitHub Flavored Markdown Spec 0.29-gfm, section 5.3, examples 279 and 280 (from memory).
    first = read("- [ ] foo\n- [x] bar\n", format="markdown").todos
    assert [(t.summary, t.done) for t in first] == [("foo", False), ("bar", True)]
    second = read("- [x] foo\n  - [ ] bar\n  - [x] baz\n- [ ] bim\n", format="markdown").todos
    assert [(t.summary, t.done, t.level) for t in second] == [
        ("foo", True, 0), ("bar", False, 1), ("baz", True, 1), ("bim", False, 0)
    ]  # fmt: skip


def test_the_format_is_told_by_the_name_unless_it_is_said() -> None:
    text = "- [ ] Oats"
    assert read(text, file="a.md").todos[0].summary == "Oats"
    assert read(text, url="https://a.invalid/list.markdown?x=1").todos[0].summary == "Oats"
    assert read(text, file="a.txt").todos[0].summary == "- [ ] Oats"
    assert read(text, file="a.txt", format="markdown", name="Ours").name == "Ours"


def test_any_line_ends_and_codings() -> None:
    assert [t.summary for t in read("a\r\nb\rc\n\n").todos] == ["a", "b", "c"]
    assert read("Öl".encode("utf-16")).todos[0].summary == "Öl"
    assert read("\ufeffÖl").todos[0].summary == "Öl"
    assert read("").todos == ()


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"ok\n\xff\xfe", "not UTF-8"),
        (b"\x89PNG\r\n\0\0", "no text"),
        (b"<!DOCTYPE html><p>", "web page"),
        (b"\n <html>", "web page"),
    ],
)
def test_what_is_no_list_is_refused(data: bytes, what: str) -> None:
    with pytest.raises(SourceError, match=what) as caught:
        read(data)
    assert caught.value.mend


def test_a_list_without_end_is_cut() -> None:
    found = read("thing\n" * 5000)
    assert len(found.todos) == 1000
    assert "1000" in found.origin.findings[0].what


@given(st.text(max_size=200), st.sampled_from(["plain", "markdown"]))
def test_any_text_is_a_list(text: str, form: str) -> None:
    for body in (text, f"- [ ] {text}", f"x (A) {text}"):
        try:
            found = read(body.encode("utf-8", "replace"), format=form)
        except SourceError:
            continue
        assert all(t.summary and "\n" not in t.summary and len(t.summary) <= 500 for t in found.todos)

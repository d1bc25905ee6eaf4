"""The line that is found for a key is the line on which it was put, however the file is written."""

import string
import tomllib
from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.places.scan import KeyPath, key_lines
from wallbill.places.toml import dotted

EVERY_SHAPE = '''\
# a remark with [brackets] and "quotes"
bare = 1
"quoted key".'single' = """many
lines, with "" quotes and an escaped \\""""
[table]
list = [1,
  [2, 3], # ], no
  {brace = "}", dotted.key = 1979-05-27 07:32:00}, ]
literal = \'\'\'x
y\'\'\'\'
after = true
[[walls.halls]]
x = 1
[walls.halls.inner]
y = [ ]
[[walls.halls]]
x = 2
[a.b.c]
[a]
late = 0x1F
'''

EXPECTED = {
    ("bare",): 2,
    ("quoted key",): 3,
    ("quoted key", "single"): 3,
    ("table",): 5,
    ("table", "list"): 6,
    ("table", "list", 0): 6,
    ("table", "list", 1): 7,
    ("table", "list", 1, 0): 7,
    ("table", "list", 1, 1): 7,
    ("table", "list", 2): 8,
    ("table", "list", 2, "brace"): 8,
    ("table", "list", 2, "dotted"): 8,
    ("table", "list", 2, "dotted", "key"): 8,
    ("table", "literal"): 9,
    ("table", "after"): 11,
    ("walls",): 12,
    ("walls", "halls"): 12,
    ("walls", "halls", 0): 12,
    ("walls", "halls", 0, "x"): 13,
    ("walls", "halls", 0, "inner"): 14,
    ("walls", "halls", 0, "inner", "y"): 15,
    ("walls", "halls", 1): 16,
    ("walls", "halls", 1, "x"): 17,
    ("a",): 19,
    ("a", "b"): 18,
    ("a", "b", "c"): 18,
    ("a", "late"): 20,
}


def paths(value: object, at: KeyPath = ()) -> set[KeyPath]:
    """Every key path of parsed TOML."""
    found: set[KeyPath] = {at} if at else set()
    if isinstance(value, Mapping):
        for key, inner in value.items():
            found |= paths(inner, (*at, key))
    elif isinstance(value, list):
        for position, inner in enumerate(value):
            found |= paths(inner, (*at, position))
    return found


def test_every_shape_of_toml() -> None:
    assert dict(key_lines(EVERY_SHAPE)) == EXPECTED


def test_windows_line_ends_count_once() -> None:
    assert dict(key_lines(EVERY_SHAPE.replace("\n", "\r\n"))) == EXPECTED


@pytest.mark.parametrize(
    "text",
    [
        'a = """"""\nb = 1',
        'a = """"x""""\nb = 1',
        'a = """\\\\"""\nb = 1',
        "a = ''''x'''\nb = 1",
        'a = "\\\\"\nb = "#"',
        "a = '\\'\nb = 1 # '",
        "a = [[],[[]],\n[{}]]\nb = {}",
        '"" = 1\n"a.b"."c" = 2',
        "a.b.c = 1\na.b.d = 2\n[x]\ny.z = 1",
        "[[a]]\n[[a.b]]\nc = 1\n[[a.b]]\n[[a]]\n[[a.b]]",
        "a = -inf\nb = 1_000\nc = 07:32:00.5",
        "a = 1\n",
        "",
        "# only\n",
    ],
)
def test_the_paths_are_those_that_the_standard_reader_finds(text: str) -> None:
    assert set(key_lines(text)) == paths(tomllib.loads(text))


# Random documents, written line by line so that the line of each key is known as it is put there.

KEYS = st.one_of(
    st.text(string.ascii_letters + string.digits + "_-", min_size=1, max_size=8),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=8),
)
BARE = set(string.ascii_letters + string.digits + "_-")
SCALARS = st.one_of(
    st.integers(-(10**6), 10**6).map(str),
    st.booleans().map(lambda value: str(value).lower()),
    st.sampled_from(["1.5e3", "1979-05-27T07:32:00Z", "1979-05-27 07:32:00", "0xff", "nan", "07:32:00"]),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=12).map(
        lambda text: '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
    ),
    st.text(string.ascii_letters + '#[]{}=," .', max_size=12).map(lambda text: f"'{text}'"),
)


def as_key(key: str) -> str:
    if key and set(key) <= BARE:
        return key
    return '"' + key.replace("\\", "\\\\").replace('"', '\\"') + '"'


@st.composite
def values(draw: st.DrawFn, *, depth: int = 2) -> tuple[list[str], dict[KeyPath, int]]:
    """A value as lines of text (the first goes after the equals sign), and the line offset of every part of it."""
    kind = draw(
        st.sampled_from(["scalar", "scalar", "many", "list", "table"] if depth else ["scalar", "many"])
    )
    if kind == "many":
        inner = draw(st.lists(st.text(string.ascii_letters + '#[]= "', max_size=6), max_size=3))
        lines = [line.replace('"""', "") for line in inner]
        return ['"""', *lines, ' """'], {}
    if kind == "scalar":
        return [draw(SCALARS)], {}
    if kind == "table":
        found: dict[KeyPath, int] = {}
        texts = []
        for key in draw(st.lists(KEYS, max_size=3, unique=True)):
            texts.append(f"{as_key(key)} = {draw(SCALARS)}")
            found[(key,)] = 0
        return ["{ " + ", ".join(texts) + " }"], found
    lines = ["["]
    offsets: dict[KeyPath, int] = {}
    for position, (text, parts) in enumerate(draw(st.lists(values(depth=depth - 1), max_size=3))):
        lines += draw(st.lists(st.sampled_from(["", "  # a remark ] }"]), max_size=2))
        offsets[(position,)] = len(lines)
        offsets |= {(position, *path): len(lines) + offset for path, offset in parts.items()}
        lines += [*text[:-1], text[-1] + ","]
    return [*lines, "]"], offsets


@st.composite
def documents(draw: st.DrawFn) -> tuple[str, dict[KeyPath, int]]:
    lines: list[str] = []
    expected: dict[KeyPath, int] = {}

    def pairs(base: KeyPath) -> None:
        for key in draw(st.lists(KEYS, max_size=4, unique=True)):
            lines.extend(draw(st.lists(st.sampled_from(["", "# x = 1", "\t"]), max_size=2)))
            text, parts = draw(values())
            line = len(lines) + 1
            expected[(*base, key)] = line
            expected.update({(*base, key, *path): line + offset for path, offset in parts.items()})
            lines.extend([f"{as_key(key)} = {text[0]}", *text[1:]])

    names = draw(st.lists(KEYS.map(lambda key: f"t-{key}"), max_size=3, unique=True))
    for name in names:
        if draw(st.booleans()):
            lines.append(f"[{as_key(name)}] # a header")
            expected[(name,)] = len(lines)
            pairs((name,))
        else:
            for position in range(draw(st.integers(1, 3))):
                lines.append(f"[[ {as_key(name)} ]]")
                expected.setdefault((name,), len(lines))
                expected[(name, position)] = len(lines)
                pairs((name, position))
    return "\n".join(lines), expected


@given(documents())
def test_each_key_is_found_on_the_line_where_it_was_put(document: tuple[str, dict[KeyPath, int]]) -> None:
    text, expected = document
    assert set(expected) == paths(tomllib.loads(text))
    assert dict(key_lines(text)) == expected


def test_lists_nested_hundreds_deep_do_no_harm() -> None:
    text = "first = 1\ndeep = " + "[" * 400 + "]" * 400
    assert key_lines(text)["first",] == 1


@pytest.mark.parametrize(
    ("path", "words"),
    [
        (("displays", "hall", "timetable", 0, "sheet"), "displays.hall.timetable[0].sheet"),
        (("a b", "c.d"), '"a b"."c.d"'),
        ((), ""),
    ],
)
def test_a_path_in_words(path: KeyPath, words: str) -> None:
    assert dotted(path) == words

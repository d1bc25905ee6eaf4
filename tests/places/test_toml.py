"""Unsound TOML is refused with line, column and a mend; files that cannot be read say why."""

from pathlib import Path

import pytest

from wallbill.errors import PanelError, Place, WallbillError, WallError
from wallbill.places.shell import load_toml
from wallbill.places.toml import read_toml

UNSOUND = [
    ("a = b", 1, "column 5", "double quotes"),
    ("[wall]\nname", 2, "the end of the file", "key = value"),
    ('a = 1\nb = "x\nc = 2', 2, "column 7", "same quotes"),
    ("a = 1\na = 2", 2, "end of the file", "rename one of the two"),
    ("[t]\n[t]\n", 2, "column 3", "Each [table] may stand once"),
    ("a = [1,\n", 1, "the end of the file", "still open"),
    ("a = [1 2]", 1, "column 8", "Close the list"),
    ("a = { b = 1\nc = 2", 1, "column 12", "Close the table"),
    ("a = { b = 1 }\na.c = 2", 2, "end of the file", "inside the braces"),
    ("é = 1", 1, "column 1", "Start the line with a key"),
    ('a = "C:\\wall"', 1, "column 10", "backslash twice"),
    ("a = 1 b = 2", 1, "column 7", "line of its own"),
    ("[wall", 1, "the end of the file", "Close the table's name"),
    ('x = """\nopen', 2, "the end of the file", "Close the text"),
    ("a = {b = 1, b = 2}", 1, "column 18", "Each key may stand once"),
    ("a = " + "[" * 3000, None, "nested too deeply", "Nest them less"),
]


@pytest.mark.parametrize(("text", "line", "what", "mend"), UNSOUND)
def test_unsound_toml(text: str, line: int | None, what: str, mend: str) -> None:
    with pytest.raises(WallError) as caught:
        read_toml(text, file="wall.toml", fault=WallError)
    assert (caught.value.where.file, caught.value.where.line) == ("wall.toml", line)
    assert what in caught.value.what
    assert mend in caught.value.mend


def test_a_missing_key_stands_where_its_table_does() -> None:
    places = read_toml("\n[a]\nb = 1\n", file="f.toml")
    assert places.place("a", "c") == Place("f.toml", 2, "a.c")
    assert places.place("x") == Place("f.toml", None, "x")
    assert str(places.place("a", "b")) == "f.toml:3 a.b"


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(PanelError, match="No such file"):
        load_toml(tmp_path / "x.toml", file="x.toml", fault=PanelError)


def test_a_file_that_is_not_utf_8_says_on_which_line(tmp_path: Path) -> None:
    file = tmp_path / "x.toml"
    file.write_bytes('a = 1\nb = "Lünt"\n'.encode("latin-1"))
    with pytest.raises(WallbillError) as caught:
        load_toml(file, file="x.toml", fault=WallbillError)
    assert caught.value.where == Place("x.toml", 2)
    assert "0xfc" in caught.value.what
    assert "UTF-8" in caught.value.mend


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    file = tmp_path / "x.toml"
    file.write_bytes(b"\xef\xbb\xbfa = 1\n")
    assert load_toml(file, file="x.toml", fault=WallbillError).values == {"a": 1}


def test_a_file_too_large_to_be_settings(tmp_path: Path) -> None:
    file = tmp_path / "x.toml"
    file.write_bytes(b"# " + b"x" * (1 << 20))
    with pytest.raises(WallbillError, match="1048578 bytes"):
        load_toml(file, file="x.toml", fault=WallbillError)

"""The keep: a damaged record is noticed and made again, writes are whole, a full disk is no error."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.faces.drawn import shelf
from wallbill.faces.fitting import fit_set
from wallbill.faces.keeping import Record, key_of, packed, unpacked
from wallbill.faces.model import FaceAsk
from wallbill.faces.shell import FaceKeep

ASK = FaceAsk(("sans-serif",), 12)
TEXT = frozenset("Hall 7:30")


@given(st.dictionaries(st.text(max_size=5), st.integers()), st.binary(max_size=60))
def test_records_come_back(facts: dict[str, int], data: bytes) -> None:
    assert unpacked(packed(Record(facts, data))) == Record(facts, data)


@given(st.integers(0, 10_000), st.integers(1, 255))
def test_one_changed_byte_is_noticed(place: int, change: int) -> None:
    whole = packed(Record({"a": 1}, b"some font"))
    place %= len(whole)
    broken = whole[:place] + bytes([whole[place] ^ change]) + whole[place + 1 :]
    assert unpacked(broken) is None


@given(st.integers(0, 200))
def test_a_cut_off_record_is_noticed(length: int) -> None:
    whole = packed(Record({"a": 1}, b"some font"))
    if length < len(whole):
        assert unpacked(whole[:length]) is None


def test_keys_differ_with_every_part() -> None:
    assert (
        len(
            {
                key_of("a"),
                key_of("b"),
                key_of("a", 1),
                key_of("a", "1"),
                key_of("a", 1, 2),
                key_of("a", [1, 2]),
            }
        )
        == 6
    )


def files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_a_fit_is_kept_and_taken_from_the_keep(tmp_path: Path) -> None:
    first = fit_set(ASK, TEXT, shelf=shelf(), keep=FaceKeep(tmp_path))
    kept = {path: path.read_bytes() for path in files(tmp_path)}
    assert kept
    assert all(path.suffix == ".face" for path in kept), "nothing half written is left"

    class Reading(FaceKeep):
        def put(self, key: str, data: bytes) -> None:
            raise AssertionError(f"fitted again: {key}")

    assert fit_set(ASK, TEXT, shelf=shelf(), keep=Reading(tmp_path)) == first


@pytest.mark.parametrize("damage", [b"", b"wallbill face\n", b"\0" * 100])
def test_damaged_files_are_made_again(tmp_path: Path, damage: bytes) -> None:
    first = fit_set(ASK, TEXT, shelf=shelf(), keep=FaceKeep(tmp_path))
    sound = {path: path.read_bytes() for path in files(tmp_path)}
    for path in sound:
        path.write_bytes(damage)
    assert fit_set(ASK, TEXT, shelf=shelf(), keep=FaceKeep(tmp_path)) == first
    assert {path: path.read_bytes() for path in files(tmp_path)} == sound


def test_a_keep_that_cannot_be_written_is_no_error(tmp_path: Path) -> None:
    blocked = tmp_path / "a file, not a folder"
    blocked.write_text("")
    keep = FaceKeep(blocked)
    assert fit_set(ASK, TEXT, shelf=shelf(), keep=keep).faces
    assert keep.get("anything") is None


def test_memory_only() -> None:
    keep = FaceKeep(None)
    assert keep.get("a") is None
    keep.put("a", b"1")
    assert keep.get("a") == b"1"

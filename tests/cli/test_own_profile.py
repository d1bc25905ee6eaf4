"""A wall's own profile is never written over unasked, and the one before is kept."""

from pathlib import Path

import pytest

from wallbill.cli.own_profile import profile_path, write_profile
from wallbill.errors import PanelError


def test_a_profile_is_never_lost(tmp_path: Path) -> None:
    path = profile_path(tmp_path, "shed")
    assert write_profile(path, "one\n", force=False) is None
    with pytest.raises(PanelError, match="has a profile of this panel already") as told:
        write_profile(path, "two\n", force=False)
    assert str(told.value.where) == "panels/shed.toml"
    assert path.read_text(encoding="utf-8") == "one\n"
    kept = [write_profile(path, text, force=True) for text in ("two\n", "three\n")]
    assert [one.read_text(encoding="utf-8") for one in kept if one] == ["one\n", "two\n"]
    assert path.read_text(encoding="utf-8") == "three\n"
    assert len(list(path.parent.iterdir())) == 3
    assert [found.name for found in path.parent.glob("*.toml")] == ["shed.toml"]

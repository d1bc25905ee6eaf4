"""Facts are kept alike in the wall's own file and in the tables that machines share."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, timedelta, timezone
from pathlib import Path

import pytest

from tests.sources.house_bench import House as Gatherer
from tests.sources.house_bench import spec_of
from tests.store.houses import House
from tests.store.values import NOW
from wallbill.errors import StoreError
from wallbill.sources.fetching import Failures, Kept
from wallbill.sources.keeping import FactKeep
from wallbill.sources.shell_keeping import Keeper
from wallbill.store.shell import open_keeper
from wallbill.store.shell_keeping import StoreKeeper

ONE = Kept("forecast", "payload", "i", "a", b"\x00{}", {"etag": 'W/"ü"'}, NOW, NOW + timedelta(minutes=30))
FAILED = Failures("i", 3, NOW, "it is out of service", "Nothing.")


@pytest.fixture
def keeper(house: House) -> Iterator[FactKeep]:
    keep = open_keeper(house.url, house.folder)
    assert isinstance(keep, Keeper if house.is_lite else StoreKeeper)
    yield keep
    keep.close()


def test_what_is_kept_comes_back_and_is_shared(keeper: FactKeep, house: House) -> None:
    other = replace(ONE, part="long", body=b"[]")
    keeper.keep("forecast", other, ONE)
    elsewhere = open_keeper(house.url, house.folder)
    assert dict(elsewhere.kept("forecast")) == {"payload": ONE, "long": other}
    assert dict(elsewhere.kept("club")) == {}
    elsewhere.close()


def test_moments_are_kept_in_utc(keeper: FactKeep) -> None:
    keeper.keep("forecast", replace(ONE, fetched_at=NOW.astimezone(timezone(timedelta(hours=5, minutes=45)))))
    assert keeper.kept("forecast")["payload"].fetched_at == NOW
    assert keeper.kept("forecast")["payload"].fetched_at.tzinfo is UTC


def test_a_new_payload_ends_the_failures(keeper: FactKeep) -> None:
    keeper.keep("forecast", ONE)
    keeper.note_failures("forecast", FAILED)
    assert keeper.failures("forecast") == FAILED
    assert keeper.kept("forecast")["payload"] == ONE
    keeper.note_failures("forecast", replace(FAILED, count=4))
    assert keeper.failures("forecast") == replace(FAILED, count=4)
    keeper.keep("forecast", replace(ONE, body=b"new"))
    assert keeper.kept("forecast")["payload"].body == b"new"
    assert keeper.failures("forecast") is None


def test_forgetting(keeper: FactKeep) -> None:
    keeper.keep("forecast", ONE, replace(ONE, part="long"), replace(ONE, part="short"))
    keeper.keep("club", replace(ONE, source="club"))
    keeper.note_failures("forecast", FAILED)
    keeper.forget_parts("forecast", ["long", "nothing"])
    assert set(keeper.kept("forecast")) == {"payload", "short"}
    keeper.forget("forecast")
    assert dict(keeper.kept("forecast")) == {}
    assert keeper.failures("forecast") is None
    assert set(keeper.kept("club")) == {"payload"}


def test_gathering_keeps_what_it_got(keeper: FactKeep, tmp_path: Path) -> None:
    (tmp_path / "level.json").write_text('{"level": 2.5}', encoding="ascii")
    spec = spec_of("json", file="level.json", values={"level": {"pick": "level", "unit": "m"}})
    first = Gatherer(tmp_path, keeper).get(spec)
    assert first.fact is not None, first.trouble
    (tmp_path / "level.json").unlink()
    again = Gatherer(tmp_path, keeper).get(spec)
    assert again.fact == first.fact
    assert again.trouble is not None


def test_where_the_server_has_gone_it_is_told(great: House) -> None:
    keep = open_keeper(great.url, great.folder, patience_s=1)
    keep.close()
    with pytest.raises(StoreError, match="closed"):
        keep.kept("forecast")

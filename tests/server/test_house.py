"""A whole house without its sockets: a wall is pressed, hung and followed, with real parts."""

import io
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from tests.end_to_end.walls import wall
from tests.server.pressroom import CACHE

from wallbill.server.answering import answer
from wallbill.server.health import live, ready
from wallbill.server.keys import key_digest
from wallbill.server.model import Answer, Head
from wallbill.server.shell_house import House, HouseSettings, open_house
from wallbill.server.shell_logs import logger
from wallbill.store.model import Key, Why

KEY = "here-is-a-key-of-the-harbour-hut"


def until(there: Callable[[], bool], *, within_s: float = 40.0) -> None:
    """Waits until something is there."""
    end_s = time.monotonic() + within_s
    while not there():
        assert time.monotonic() < end_s, "it did not come"
        time.sleep(0.05)


def number(house: House, name: str) -> int:
    hung = house.shelf.hung(name)
    return hung.edition.number if hung and hung.edition else 0


def looks_at_s(house: House, name: str) -> float:
    hung = house.shelf.hung(name)
    return hung.looks_at_s if hung else 0.0


def asked(house: House, tag: str = "") -> Answer:
    said = answer(
        Head(
            "GET",
            "/displays/porch/impression.png",
            "",
            {"authorization": f"Bearer {KEY}", "if-none-match": tag},
        ),
        house.shelf,
        datetime.now(UTC),
    )
    assert isinstance(said, Answer)
    return said


def test_a_wall_is_pressed_and_hung_and_its_device_is_told_when_to_come_again(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    with open_house(HouseSettings(folder, CACHE), logger(io.StringIO())) as house:
        house.store.add_key(Key(key_digest(KEY), "porch", datetime.now(UTC)))
        house.foreman.poke()
        until(lambda: number(house, "porch") == 1 and asked(house).status == 200)
        said = asked(house)
        up = house.store.impression(house.store.history("porch")[0].digest)
        assert up is not None
        assert said.body == up.png
        tag = dict(said.headers)["ETag"]
        assert asked(house, tag).status == 304
        assert [each.why for each in house.store.history("porch")] == [Why.FIRST]
        # The look that is done is not waited for any longer.
        until(lambda: looks_at_s(house, "porch") > time.time())
        assert house.watchman.look() == ()
        assert live(house.watchman.vitals()).good
        assert ready(house.watchman.vitals()).good


def test_a_house_that_is_opened_again_shows_what_was_up(tmp_path: Path) -> None:
    folder = wall(tmp_path / "wall")
    with open_house(HouseSettings(folder, CACHE), logger(io.StringIO())) as house:
        until(lambda: number(house, "porch") == 1)
        first = house.store.history("porch")[0]
    with open_house(HouseSettings(folder, CACHE), logger(io.StringIO())) as house:
        hung = house.shelf.hung("porch")  # at once: the first beat is done before anybody is let in
        assert hung is not None
        assert hung.edition is not None
        assert hung.edition.digest == first.digest

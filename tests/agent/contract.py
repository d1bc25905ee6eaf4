"""What every device client must hold, whatever it is written in: the last good picture stays, and no tag runs ahead of it.

A client is tried by a class of its own that inherits `DeviceContract` and gives a `Client`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Protocol

import pytest

from tests.agent.fault_server import FaultServer, Picture, picture, serving
from tests.agent.faults import (
    FAULTS,
    UNUSUAL,
    busy,
    busy_until,
    reset_at_once,
    sent_round_and_round,
    too_many,
    unasked_304,
)

KEY = "example-key-of-one-display"
QUIET_S, PATIENCE_S = 0.6, 2.0
"""How long a client under test is to wait without a byte, and for an exchange as a whole."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a wake came to: ``shown``, ``same`` or ``refused``; ``wait_s``: how long the client would sleep now, if it says."""

    status: str
    wait_s: int | None = None


class Client(Protocol):
    """A device client. It fetches ``/displays/hall/impression.plates``, with `KEY`."""

    takes_unusual: frozenset[str]
    """Names of `UNUSUAL` answers that it shows; the others it refuses."""

    def run_once(self, url: str, state: Path, glass: Path) -> Outcome:
        """One wake. ``url``: of the server. ``glass``: a file that holds the bare plates of what the panel shows."""
        ...


class DeviceContract:
    """The contract. ``client``: a fixture of the class that inherits it."""

    @pytest.fixture
    def server(self) -> Iterator[FaultServer]:
        """A server with a first picture."""
        with serving(picture(1)) as server:
            yield server

    @pytest.fixture
    def state(self, tmp_path: Path) -> Path:
        """Where the client keeps what it remembers."""
        return tmp_path / "state"

    @pytest.fixture
    def glass(self, tmp_path: Path) -> Path:
        """What the panel shows."""
        return tmp_path / "glass.plates"

    def test_the_first_picture_is_shown(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        outcome = client.run_once(server.address, state, glass)
        assert outcome.status == "shown"
        assert glass.read_bytes() == server.picture.plates
        (asked,) = server.pictures_asked
        assert asked.path == "/displays/hall/impression.plates"
        assert asked.headers["authorization"] == f"Bearer {KEY}"
        assert "if-none-match" not in asked.headers

    def test_an_unchanged_picture_is_not_shown_again(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        client.run_once(server.address, state, glass)
        before = glass.stat()
        assert client.run_once(server.address, state, glass).status == "same"
        assert glass.stat() == before
        assert server.pictures_asked[-1].headers["if-none-match"] == server.picture.tag

    def test_a_changed_picture_is_shown(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        client.run_once(server.address, state, glass)
        server.picture = picture(2)
        assert client.run_once(server.address, state, glass).status == "shown"
        assert glass.read_bytes() == picture(2).plates

    @pytest.mark.parametrize("name", FAULTS)
    def test_a_fault_leaves_the_last_good_picture(
        self, client: Client, server: FaultServer, state: Path, glass: Path, *, name: str
    ) -> None:
        client.run_once(server.address, state, glass)
        first, server.picture = server.picture, picture(2)
        server.faults.append(FAULTS[name])
        server.asked.clear()
        before = glass.stat()
        assert client.run_once(server.address, state, glass).status == "refused"
        assert glass.stat() == before
        assert [asked.path for asked in server.pictures_asked] == ["/displays/hall/impression.plates"]
        self._recovers(client, server, state, glass, first)

    @pytest.mark.parametrize("name", UNUSUAL)
    def test_an_unusual_answer_is_shown_or_refused(
        self, client: Client, server: FaultServer, state: Path, glass: Path, *, name: str
    ) -> None:
        client.run_once(server.address, state, glass)
        first, server.picture = server.picture, picture(2)
        server.faults.append(UNUSUAL[name])
        outcome = client.run_once(server.address, state, glass)
        if name in client.takes_unusual:
            assert outcome.status == "shown"
            assert glass.read_bytes() == picture(2).plates
            assert client.run_once(server.address, state, glass).status == "same"
        else:
            assert outcome.status == "refused"
            assert glass.read_bytes() == first.plates
            self._recovers(client, server, state, glass, first)

    def test_a_304_for_a_tag_that_is_not_ours_is_no_picture(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        client.run_once(server.address, state, glass)
        first, server.picture = server.picture, picture(2)
        server.faults.append(unasked_304)
        client.run_once(server.address, state, glass)
        assert glass.read_bytes() == first.plates
        self._recovers(client, server, state, glass, first)

    def test_being_sent_round_and_round_ends(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        client.run_once(server.address, state, glass)
        first, server.picture = server.picture, picture(2)
        server.faults += [sent_round_and_round] * 20
        assert client.run_once(server.address, state, glass).status == "refused"
        server.faults.clear()
        self._recovers(client, server, state, glass, first)

    def test_a_fault_before_any_picture_shows_nothing(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        for name in ("captive_page", "cut_in_body", "wrong_digest", "status_404"):
            server.faults.append(FAULTS[name])
            assert client.run_once(server.address, state, glass).status == "refused"
            assert not glass.exists()
        assert all("if-none-match" not in asked.headers for asked in server.pictures_asked)
        assert client.run_once(server.address, state, glass).status == "shown"

    def test_many_faults_in_a_row_are_survived(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        client.run_once(server.address, state, glass)
        first, server.picture = server.picture, picture(2)
        for name in ("reset_in_body", "gzipped", "status_500", "one_bit_turned", "refused_at_once"):
            server.faults.append(FAULTS[name])
            assert client.run_once(server.address, state, glass).status == "refused"
        assert glass.read_bytes() == first.plates
        self._recovers(client, server, state, glass, first)

    def test_no_server_at_all_is_survived(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        client.run_once(server.address, state, glass)
        assert client.run_once("http://127.0.0.1:1", state, glass).status == "refused"
        assert glass.read_bytes() == server.picture.plates

    def test_the_server_says_when_to_come_back(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        server.max_age_s = 1000
        for status in ("shown", "same"):
            outcome = client.run_once(server.address, state, glass)
            assert outcome.status == status
            if outcome.wait_s is not None:
                assert 1000 <= outcome.wait_s <= 1100  # as told, and at most a tenth later

    def test_patience_that_is_asked_for_is_had(
        self, client: Client, server: FaultServer, state: Path, glass: Path
    ) -> None:
        for fault, wait_s in ((busy, 900), (busy_until, 1200), (too_many, 1200)):
            server.faults.append(fault)
            outcome = client.run_once(server.address, state, glass)
            assert outcome.status == "refused"
            if outcome.wait_s is not None:
                assert wait_s <= outcome.wait_s <= wait_s * 1.1

    def test_failures_back_off(self, client: Client, server: FaultServer, state: Path, glass: Path) -> None:
        waits = []
        for _ in range(3):
            server.faults.append(reset_at_once)
            waits.append(client.run_once(server.address, state, glass).wait_s)
        known = [wait for wait in waits if wait is not None]
        assert all(later > 1.5 * sooner for sooner, later in pairwise(known))

    def _recovers(
        self, client: Client, server: FaultServer, state: Path, glass: Path, shown: Picture
    ) -> None:
        """The next answer is right, and is shown; what is told to be shown was what is shown."""
        server.asked.clear()
        assert client.run_once(server.address, state, glass).status == "shown"
        assert glass.read_bytes() == server.picture.plates
        told = server.pictures_asked[0].headers.get("if-none-match")
        assert told in {None, shown.tag}

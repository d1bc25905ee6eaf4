"""How the microcontroller twin treats its panel, its battery and its heap. Run for real in MicroPython where it matters."""

import json
import random
import zlib
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.agent.fault_server import Exchange, FaultServer, Picture, picture, serving
from tests.agent.faults import status, wrong_digest
from tests.agent.micro_twin import cpython, micropython, settle, wake

FREE_WORDS_LEAST = 2048


@pytest.fixture
def server() -> Iterator[FaultServer]:
    """A server."""
    with serving(picture(1)) as server:
        yield server


@pytest.fixture
def glass(tmp_path: Path) -> Path:
    """What the panel shows."""
    return tmp_path / "glass"


def _state(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "state.json").read_bytes())
    return found


def _changing(exchange: Exchange) -> None:
    """Another picture of 96 kB each time, for a panel of 1024 x 256 pixels and three inks."""
    noise = random.Random(exchange.asked.headers.get("if-none-match")).randbytes(96 * 1024)
    exchange.picture = Picture(noise, f'W/"{zlib.crc32(noise):08x}"')
    exchange.head("200 OK", exchange.fields())
    exchange.send(noise)


@pytest.mark.parametrize("straight", [False, True])
def test_sixty_pictures_of_96_kb_leave_the_heap_as_it_was(
    server: FaultServer, tmp_path: Path, glass: Path, *, straight: bool
) -> None:
    settle(tmp_path, server.address, length_bytes=96 * 1024, quiet_ms=5000, patience_ms=20000)
    server.faults += [_changing] * 60
    said = wake(micropython(), tmp_path, glass, wakes=60, straight=straight, sleeps_s=1800)
    assert [each["status"] for each in said] == ["shown"] * 60
    assert len({asked.headers.get("if-none-match") for asked in server.pictures_asked}) == 60
    used = [each["used_bytes"] for each in said]
    assert (
        max(used[2:]) <= used[1] + 128
    )  # words of 8 bytes: texts of other lengths come and go, nothing grows
    assert max(used) <= 64 * 1024 - 8 * FREE_WORDS_LEAST  # of a heap of 32 KB in words of 4
    assert max(each["largest"] for each in said) <= 1024
    assert glass.stat().st_size == 96 * 1024


def test_the_heap_holds_out_through_faults(server: FaultServer, tmp_path: Path, glass: Path) -> None:
    settle(tmp_path, server.address)
    server.faults += [status("500 Internal Server Error"), wrong_digest] * 10
    said = wake(micropython(), tmp_path, glass, wakes=21)
    assert [each["status"] for each in said] == ["refused"] * 20 + ["shown"]
    used = [each["used_bytes"] for each in said]
    assert max(used[:20]) <= used[1] + 256


def test_a_panel_is_not_refreshed_sooner_than_it_may_be(
    server: FaultServer, tmp_path: Path, glass: Path
) -> None:
    settle(tmp_path, server.address, least_interval_s=180)
    wake(cpython(), tmp_path, glass, clock_s=1000)
    server.picture = picture(2)
    (said,) = wake(cpython(), tmp_path, glass, clock_s=1100)
    assert (said["status"], said["log"]) == ("same", "jl")
    assert 80 <= said["wait_s"] <= 88
    assert server.pictures_asked[-1].headers["if-none-match"] == picture(1).tag
    (said,) = wake(cpython(), tmp_path, glass, clock_s=1180)
    assert said["status"] == "shown"


def test_a_clock_put_back_delays_a_refresh_by_one_rest_at_most(
    server: FaultServer, tmp_path: Path, glass: Path
) -> None:
    settle(tmp_path, server.address, least_interval_s=180)
    wake(cpython(), tmp_path, glass, clock_s=1800000000)
    server.picture = picture(2)
    (said,) = wake(cpython(), tmp_path, glass, clock_s=5000)
    assert said["status"] == "same"
    (said,) = wake(cpython(), tmp_path, glass, clock_s=5180)
    assert said["status"] == "shown"


@pytest.mark.parametrize(
    ("air_c", "shows"), [(-0.5, False), (0, True), (40, True), (40.5, False), (None, True)]
)
def test_no_refresh_when_it_is_too_cold_or_too_warm(
    server: FaultServer, tmp_path: Path, glass: Path, *, air_c: float | None, shows: bool
) -> None:
    settle(tmp_path, server.address, lowest_c=0, highest_c=40)
    (said,) = wake(cpython(), tmp_path, glass, temperature_c=air_c)
    assert glass.exists() == shows
    assert said["wait_s"] >= 1800
    report = json.loads(server.reports[0].body)
    assert report.get("temperature_c") == air_c
    assert ("no refresh" in report.get("error", "")) != shows


def test_a_failed_refresh_is_forgotten_reported_and_done_again(
    server: FaultServer, tmp_path: Path, glass: Path
) -> None:
    settle(tmp_path, server.address)
    (said,) = wake(cpython(), tmp_path, glass, refresh_fails=1)
    assert (said["status"], _state(tmp_path)["tag"]) == ("refused", "")
    (said,) = wake(cpython(), tmp_path, glass)
    assert said["status"] == "shown"
    assert "if-none-match" not in server.pictures_asked[-1].headers
    assert json.loads(server.reports[-1].body)["error"] == "the panel does not answer"
    assert _state(tmp_path)["error"] == ""


def test_refreshes_that_keep_failing_back_off(server: FaultServer, tmp_path: Path, glass: Path) -> None:
    settle(tmp_path, server.address)
    said = wake(cpython(), tmp_path, glass, refresh_fails=9, wakes=4)
    waits = [each["wait_s"] for each in said]
    assert [round(later / sooner) for sooner, later in pairwise(waits)] == [2, 2, 2]


def test_a_panel_that_has_rested_too_long_is_refreshed_without_the_server(
    tmp_path: Path, glass: Path
) -> None:
    with serving(picture(1)) as server:
        settle(tmp_path, server.address)
        wake(cpython(), tmp_path, glass, clock_s=1000)
    (said,) = wake(cpython(), tmp_path, glass, clock_s=1000 + 86399)
    assert said["log"] == "jl"
    (said,) = wake(cpython(), tmp_path, glass, clock_s=1000 + 86400)
    assert said["log"] == "jlbc"
    assert _state(tmp_path)["tag"] == picture(1).tag


def test_a_picture_spoilt_on_flash_is_not_put_up(tmp_path: Path, glass: Path) -> None:
    with serving(picture(1)) as server:
        settle(tmp_path, server.address)
        wake(cpython(), tmp_path, glass, clock_s=1000)
    kept = bytearray((tmp_path / "picture").read_bytes())
    kept[100] ^= 1
    (tmp_path / "picture").write_bytes(kept)
    (said,) = wake(cpython(), tmp_path, glass, clock_s=1000 + 86400)
    assert said["log"] == "jlba"
    assert glass.read_bytes() == picture(1).plates


def test_the_radio_is_off_while_the_panel_refreshes(server: FaultServer, tmp_path: Path, glass: Path) -> None:
    settle(tmp_path, server.address)
    assert wake(cpython(), tmp_path, glass)[0]["log"] == "jlbc"
    server.picture = picture(2)
    assert wake(cpython(), tmp_path, glass, straight=True)[0]["log"] == "jblc"


def test_no_network_is_survived_and_told_afterwards(server: FaultServer, tmp_path: Path, glass: Path) -> None:
    settle(tmp_path, server.address)
    (said,) = wake(cpython(), tmp_path, glass, network=False)
    assert (said["status"], said["log"]) == ("refused", "jl")
    wake(cpython(), tmp_path, glass)
    assert json.loads(server.reports[0].body)["error"] == "no network"


def test_a_report_tells_how_the_board_is(server: FaultServer, tmp_path: Path, glass: Path) -> None:
    settle(tmp_path, server.address)
    wake(micropython(), tmp_path, glass, woken_by="power", temperature_c=19.5)
    wake(micropython(), tmp_path, glass)
    first, second = (json.loads(asked.body) for asked in server.reports)
    assert server.reports[0].path == "/displays/hall/report"
    assert server.reports[0].headers["content-type"] == "application/json"
    assert first.keys() == {
        "agent", "battery_mv", "temperature_c", "signal_dbm", "woken_by", "join_ms", "transfer_ms",
    }  # fmt: skip
    assert (first["battery_mv"], first["signal_dbm"], first["woken_by"]) == (3712, -61, "power")
    assert second["shown"] == picture(1).tag
    assert second["refresh_ms"] >= 0


def test_a_quiet_wake_makes_no_second_connection(server: FaultServer, tmp_path: Path, glass: Path) -> None:
    settle(tmp_path, server.address)
    wake(cpython(), tmp_path, glass, wakes=14, sleeps_s=1800)
    assert (
        2 <= len(server.reports) <= 3
    )  # the first, perhaps one that tells of the refresh, and one after six hours
    wake(cpython(), tmp_path, glass, woken_by="button", clock_s=1800000000 + 14 * 1800)
    assert json.loads(server.reports[-1].body)["woken_by"] == "button"


def test_a_report_that_fails_is_said_again(server: FaultServer, tmp_path: Path, glass: Path) -> None:
    settle(tmp_path, server.address)
    server.faults.append(status("500 Internal Server Error"))
    server.report_faults += [status("503 Service Unavailable")]
    wake(cpython(), tmp_path, glass)
    (said,) = wake(cpython(), tmp_path, glass)
    assert said["status"] == "shown"
    assert [json.loads(asked.body)["error"] for asked in server.reports] == ["HTTP 500", "HTTP 500"]


def _packed(exchange: Exchange) -> None:
    """The plates in zlib's format with a window of 1 KB; the digest is of what is sent."""
    packer = zlib.compressobj(9, zlib.DEFLATED, 10)
    data = packer.compress(exchange.picture.plates) + packer.flush()
    exchange.picture = Picture(data, exchange.picture.tag)
    exchange.head("200 OK", exchange.fields())
    exchange.send(data)


def _packed_of_another_panel(exchange: Exchange) -> None:
    exchange.picture = Picture(exchange.picture.plates * 2, exchange.picture.tag)
    _packed(exchange)


def _not_packed(exchange: Exchange) -> None:
    exchange.head("200 OK", exchange.fields())
    exchange.send(exchange.picture.plates)


@pytest.mark.parametrize("python", [micropython("40wk"), cpython()], ids=["micropython", "cpython"])
def test_packed_plates_are_unpacked_as_they_come(
    server: FaultServer, tmp_path: Path, glass: Path, *, python: list[str]
) -> None:
    settle(tmp_path, server.address, packed=True)
    for fault in (_packed_of_another_panel, _not_packed):
        server.faults.append(fault)
        assert wake(python, tmp_path, glass)[0]["status"] == "refused"
        assert not glass.exists()
    server.faults.append(_packed)
    (said,) = wake(python, tmp_path, glass)
    assert (said["status"], said["error"]) == ("shown", "")
    assert glass.read_bytes() == picture(1).plates


@pytest.mark.parametrize("spoilt", [b"", b"{", b"[1]", b'{"tag": 7, "failures": "x"}', b"\xff\xfe"])
def test_a_spoilt_memory_begins_anew(
    server: FaultServer, tmp_path: Path, glass: Path, *, spoilt: bytes
) -> None:
    settle(tmp_path, server.address)
    (tmp_path / "state.json").write_bytes(spoilt)
    assert wake(cpython(), tmp_path, glass)[0]["status"] == "shown"
    assert "if-none-match" not in server.pictures_asked[0].headers

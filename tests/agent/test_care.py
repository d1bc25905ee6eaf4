"""What the panel needs: its rest between refreshes, its longest rest, its climate, the mark of old news; and what is reported."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.agent.agents import call_here, settings
from tests.agent.fault_server import HEIGHT_PX, WIDTH_PX, Exchange, FaultServer, picture, rightly, serving
from tests.agent.faults import busy, captive_page, no_digest
from wallbill.agent.device import shell_machine
from wallbill.agent.device.marking import marked
from wallbill.agent.device.pictures import png_of
from wallbill.agent.device.plates import split
from wallbill.agent.device.waking import LAST_WAIT_S

HOUR_S, DAY_S = 3600, 86400


@dataclass
class Board:
    """A board whose time passes as the test says, with the fault server and a file for its panel."""

    server: FaultServer
    folder: Path
    up_s: float = 1000.0
    boot: str = "first"

    @property
    def glass(self) -> bytes:
        """What the panel shows."""
        return (self.folder / "glass").read_bytes()

    def refreshes(self) -> int:
        """What changes with each refresh of the panel: the file's number on the disk."""
        return (self.folder / "glass").stat().st_ino

    def once(self, *words: str, **over: Any) -> str:
        """One wake; gives what the agent says."""
        glass = {"adapter": "file", "path": str(self.folder / "glass"), "form": "plates"}
        values = settings(self.server.address, glass, **over)
        return call_here(values, "once", *words, state=self.folder / "state")[1]

    def wake(self, **over: Any) -> str:
        """One wake, due or not; gives its status."""
        return self.once("--now", **over).split("; next")[0].strip()

    def report(self) -> dict[str, Any]:
        """The last report."""
        found = json.loads(self.server.reports[-1].body)
        assert isinstance(found, dict)
        return found


@pytest.fixture
def board(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Board]:
    with serving(picture(1)) as server:
        board = Board(server, tmp_path)
        monkeypatch.setattr(shell_machine, "up_s", lambda: board.up_s)
        monkeypatch.setattr(shell_machine, "boot", lambda: board.boot)
        yield board


def _dated(date: str) -> Any:
    def answer(exchange: Exchange) -> None:
        whole = exchange.fields(Date=date)
        if exchange.picture.tag == exchange.asked.headers.get("if-none-match"):
            exchange.head("304 Not Modified", exchange.fields(Date=date, Content_Length=None))
        else:
            exchange.head("200 OK", whole)
            exchange.send(exchange.picture.plates)

    return answer


def _marked(number: int) -> bytes:
    plates = split(picture(number).plates, width_px=WIDTH_PX, height_px=HEIGHT_PX, inks=3)
    return b"".join(marked(plates, (0, 1)).plates)


def test_the_panel_rests_between_refreshes(board: Board) -> None:
    limits = {"least_interval_s": 180}
    assert board.wake(limits=limits) == "shown"
    board.server.picture = picture(2)
    board.up_s += 100
    board.server.asked.clear()
    assert board.wake(limits=limits) == "early: the panel rests for 81 s"
    assert not board.server.asked
    board.up_s += 80
    assert board.wake(limits=limits) == "shown"


def test_after_a_new_start_the_servers_clock_tells_how_long_the_panel_rested(board: Board) -> None:
    limits = {"least_interval_s": 180}
    board.server.faults.append(_dated("Wed, 25 Nov 2026 06:00:00 GMT"))
    assert board.wake(limits=limits) == "shown"
    board.server.picture = picture(2)
    board.boot, board.up_s = "second", 20.0
    board.server.faults.append(_dated("Wed, 25 Nov 2026 06:01:00 GMT"))
    said = board.once("--now", limits=limits)
    assert said == "held; next in 121 s\n"
    assert board.glass == picture(1).plates
    board.up_s += 121
    assert board.wake(limits=limits) == "shown"
    assert "if-none-match" in board.server.pictures_asked[-1].headers


def test_a_server_whose_clock_went_back_holds_nothing_up_for_long(board: Board) -> None:
    limits = {"least_interval_s": 180}
    board.server.faults.append(_dated("Wed, 25 Nov 2043 06:00:00 GMT"))
    assert board.wake(limits=limits) == "shown"
    board.server.picture = picture(2)
    board.boot, board.up_s = "second", 20.0
    assert board.once("--now", limits=limits) == "held; next in 161 s\n"
    board.up_s += 161
    assert board.wake(limits=limits) == "shown"


def test_a_panel_that_rested_long_is_refreshed_without_news(board: Board) -> None:
    assert board.wake() == "shown"
    before = board.refreshes()
    board.up_s += DAY_S * 1.05
    assert board.wake() == "same"
    assert board.refreshes() == before  # a server that is there sends a rest edition itself
    board.up_s += DAY_S * 0.1
    assert board.wake() == "same"
    assert board.refreshes() != before
    assert board.glass == picture(1).plates
    assert board.server.pictures_asked[-1].headers["if-none-match"] == picture(1).tag
    again = board.refreshes()
    board.up_s += HOUR_S
    assert board.wake() == "same"
    assert board.refreshes() == again


def test_a_panel_that_rested_long_is_refreshed_without_a_server(board: Board) -> None:
    assert board.wake(mark=False) == "shown"
    before = board.refreshes()
    board.server.faults += [busy, busy]
    board.up_s += DAY_S + 1
    assert board.wake(mark=False).startswith("failed: the server answers 503")
    assert board.refreshes() != before
    assert board.glass == picture(1).plates
    again = board.refreshes()
    assert board.wake(mark=False).startswith("failed")
    assert board.refreshes() == again


def test_old_news_is_marked_once_and_the_mark_goes_with_the_next_news(board: Board) -> None:
    assert board.wake() == "shown"
    board.server.faults += [busy] * 4
    board.up_s += LAST_WAIT_S - 10
    board.wake()
    assert board.glass == picture(1).plates
    board.up_s += 20
    assert board.wake().startswith("failed")
    assert board.glass == _marked(1) != picture(1).plates
    once = board.refreshes()
    board.up_s += HOUR_S
    board.wake()
    assert board.refreshes() == once
    board.up_s += DAY_S
    board.wake()
    assert board.refreshes() != once  # the longest rest holds for a marked picture too
    assert board.glass == _marked(1)
    assert board.wake() == "shown"  # the server is back: the same picture, without the mark
    assert board.glass == picture(1).plates
    assert "if-none-match" not in board.server.pictures_asked[-1].headers
    assert board.wake() == "same"


def test_a_silence_may_be_stated(board: Board) -> None:
    assert board.wake(stale_after_s=HOUR_S) == "shown"
    board.server.faults.append(captive_page)
    board.up_s += HOUR_S + 1
    assert "text/html" in board.wake(stale_after_s=HOUR_S)
    assert board.glass == _marked(1)


def test_out_of_its_climate_the_panel_is_let_alone(board: Board) -> None:
    thermometer = board.folder / "temperature"
    cold: dict[str, Any] = {
        "limits": {"lowest_c": 0, "highest_c": 50},
        "temperature": {"file": str(thermometer), "scale": 0.001},
    }
    thermometer.write_text("21500\n", encoding="ascii")
    assert board.wake(**cold) == "shown"
    assert board.report()["temperature_c"] == 21.5
    board.server.picture = picture(2)
    for milli, told in (("-4200", "-4.2"), ("50500", "50.5")):
        thermometer.write_text(milli, encoding="ascii")
        board.up_s += 2 * DAY_S
        assert board.wake(**cold) == f"held: it is {told} °C, where the panel must not be refreshed"
        assert board.server.pictures_asked[-1].method == "HEAD"
        assert board.glass == picture(1).plates
        assert told in board.report()["error"]
        assert board.report()["shown"] == picture(1).tag
    thermometer.write_text("0", encoding="ascii")
    assert board.wake(**cold) == "shown"


def test_a_sensor_that_cannot_be_read_hinders_nothing(board: Board) -> None:
    sensors: dict[str, Any] = {
        "battery": {"file": str(board.folder / "no-such-file")},
        "temperature": {"argv": ["false"]},
        "signal": {"argv": ["printf", "wlan0: 0000   54.  -62.  -256"], "scale": 1},
    }
    assert board.wake(**sensors) == "shown"
    report = board.report()
    assert "battery_mv" not in report
    assert report["signal_dbm"] == 0  # the first figure
    assert "false gives no figure" in report["error"]
    assert board.wake(**sensors) == "same"
    assert len(board.server.reports) == 1  # that alone is no reason to report


def test_what_a_wake_cost_is_reported(board: Board) -> None:
    battery = board.folder / "voltage_now"
    battery.write_text("3912000\n", encoding="ascii")
    assert board.wake(battery={"file": str(battery), "scale": 0.001}) == "shown"
    (asked,) = board.server.reports
    assert asked.path == "/displays/hall/report"
    assert asked.headers["content-type"] == "application/json"
    assert asked.headers["authorization"].startswith("Bearer ")
    report = board.report()
    times = {name: report.pop(name) for name in ("join_ms", "transfer_ms", "refresh_ms")}
    assert all(isinstance(span, int) and 0 <= span < 5000 for span in times.values())
    assert report == {
        "shown": picture(1).tag, "battery_mv": 3912, "woken_by": "timer", "agent": "wallbill-agent/0.1",
    }  # fmt: skip


def test_unchanged_wakes_are_reported_now_and_then(board: Board) -> None:
    board.wake()
    for _ in range(3):
        board.up_s += HOUR_S
        assert board.wake() == "same"
    assert len(board.server.reports) == 1
    board.up_s += 3 * HOUR_S
    board.wake()
    assert len(board.server.reports) == 2
    board.up_s += 60
    board.wake(report_every_s=0)
    assert len(board.server.reports) == 3


def test_an_error_is_kept_until_it_could_be_told(board: Board) -> None:
    board.server.faults.append(no_digest)
    assert "without a SHA-256 digest" in board.wake()
    assert not board.server.reports  # whoever answers so is not told anything
    board.server.report_faults += [busy, rightly]
    assert board.wake() == "shown"
    assert "SHA-256" in board.report()["error"]  # told, but not taken
    assert board.wake() == "same"
    assert "SHA-256" in board.report()["error"]
    assert len(board.server.reports) == 2
    assert board.wake() == "same"
    assert len(board.server.reports) == 2


def test_a_timer_may_call_too_often(board: Board) -> None:
    assert board.once().startswith("shown")
    board.up_s += 600
    assert board.once().startswith("early: due in 12")
    assert len(board.server.pictures_asked) == 1
    board.up_s += 1190  # a little early is early enough
    assert board.once().startswith("same")
    board.server.faults.append(busy)
    board.up_s += 2000
    assert board.once().startswith("failed")
    board.up_s += 880
    assert board.once().startswith("early")  # but not where the server asked for patience
    board.up_s += 200
    assert board.once().startswith("same")


def test_a_spoilt_picture_is_fetched_again(board: Board) -> None:
    board.wake()
    (kept,) = (board.folder / "state").glob("picture-*")
    kept.write_bytes(kept.read_bytes()[:-1])
    assert board.wake() == "shown"
    assert "if-none-match" not in board.server.pictures_asked[-1].headers
    for garbage in (b"", b"{", b"[]", b'{"v": 1, "tag": 7, "failures": "many"}', bytes(500)):
        (board.folder / "state" / "state.json").write_bytes(garbage)
        assert board.wake() == "shown"


def test_a_refresh_that_cannot_be_noted_is_not_begun(board: Board) -> None:
    """Otherwise a full or worn disk would have the panel refreshed at every wake."""
    board.wake()
    board.server.picture = picture(2)
    before = board.refreshes()
    note = board.folder / "state" / "state.json"
    kept = note.read_bytes()
    note.unlink()
    note.mkdir()
    assert board.wake().startswith("failed: state cannot be kept")
    assert board.refreshes() == before
    note.rmdir()
    note.write_bytes(kept)
    assert board.wake() == "shown"


def test_png_may_be_fetched_instead(board: Board) -> None:
    """Of many inks it is several times smaller; what is kept and shown is the same."""
    plates = split(picture(1).plates, width_px=WIDTH_PX, height_px=HEIGHT_PX, inks=3)
    png = png_of(plates, ((0, 0, 0), (255, 255, 255), (255, 0, 0)))
    board.server.picture = type(picture(1))(png, picture(1).tag)

    def answer(exchange: Exchange) -> None:
        exchange.head("200 OK", exchange.fields(Content_Type="image/png"))
        exchange.send(png)

    board.server.faults += [rightly, answer]
    assert "not image/png" in board.wake(form="png")
    assert board.wake(form="png") == "shown"
    assert board.glass == picture(1).plates
    assert board.server.pictures_asked[-1].path == "/displays/hall/impression.png"
    assert board.server.pictures_asked[-1].headers["accept"] == "image/png"
    assert board.wake(form="png") == "same"

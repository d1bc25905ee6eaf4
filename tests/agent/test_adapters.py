"""The adapters that are built in: a file, a framebuffer, a window, a command; the button's lines; the command line."""

import fcntl
import json
import os
import shutil
import signal
import struct
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import trustme
from PIL import Image

from tests.agent.agents import PYTHON, call, call_here, settings, write_agent
from tests.agent.fault_server import HEIGHT_PX, WIDTH_PX, picture, serving
from tests.agent.secured import serving_securely
from tests.agent.test_plates import values_of
from wallbill.agent.device import shell_framebuffer, shell_main
from wallbill.agent.device.plates import Picture, split
from wallbill.agent.device.settings import Button
from wallbill.agent.device.shell_framebuffer import Layout, framed, paint
from wallbill.agent.device.shell_line import GpioLine, InputLine, open_line

COLOURS = ((0, 0, 0), (255, 255, 255), (255, 0, 0))


def _plates(number: int = 1) -> Picture:
    return split(picture(number).plates, width_px=WIDTH_PX, height_px=HEIGHT_PX, inks=3)


@pytest.mark.parametrize("form", ["png", "bmp", "plates", "planes"])
def test_a_file_for_scripts_of_the_panels_maker(tmp_path: Path, form: str) -> None:
    with serving(picture(1)) as server:
        glass = {"adapter": "file", "path": "sheet.out", "form": form}
        status, said = call_here(settings(server.address, glass), "once", state=tmp_path / "state")
    assert (status, said.split(";")[0]) == (0, "shown")
    file = tmp_path / "state" / "sheet.out"  # paths that are not absolute begin in the folder of state
    right = values_of(_plates())
    if form in {"png", "bmp"}:
        with Image.open(file) as image:
            assert image.format == form.upper()
            assert (np.array(image) == right).all()
    elif form == "plates":
        assert file.read_bytes() == picture(1).plates
    else:
        head, _, planes = file.read_bytes().partition(b"\n")
        info = json.loads(head)
        assert info["planes"] == ["black", "red"]
        assert info["bytes"] == [len(planes) // 2] * 2
        assert info["mode"] == "full"


def test_a_command_that_takes_a_picture_finds_it(tmp_path: Path) -> None:
    copied = tmp_path / "copied.bmp"
    glass = {"adapter": "command", "argv": ["cp", "{picture}", str(copied)], "form": "bmp"}
    with serving(picture(2)) as server:
        assert call_here(settings(server.address, glass), "once", state=tmp_path / "state")[0] == 0
    with Image.open(copied) as image:
        assert (np.array(image) == values_of(_plates(2))).all()


def test_a_gentle_refresh_is_told_to_the_driver(tmp_path: Path) -> None:
    log = tmp_path / "log"
    script = f"import sys; open({str(log)!r}, 'a').write(sys.stdin.buffer.readline().decode()); sys.stdin.buffer.read()"
    glass = {
        "adapter": "command",
        "argv": [PYTHON, "-c", script],
        "modes": ["full", "partial"],
        "full_every": 3,
    }
    with serving(picture(1)) as server:
        values = settings(server.address, glass, packing={"rotation_deg": 180})
        for number in range(5):
            plates = bytearray(picture(1).plates)
            stride = -(-WIDTH_PX // 8)
            for plate, bit in ((0, 0), (1, 0x80), (2, 0)):  # one pixel, at (8 * number, 5), is made white
                at = plate * stride * HEIGHT_PX + 5 * stride + number
                plates[at] = plates[at] & 0x7F | bit
            server.picture = type(server.picture)(bytes(plates), f'"{number}"')
            assert call_here(values, "once", "--now", state=tmp_path / "state")[0] == 0
    told = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    assert [info["mode"] for info in told] == ["full", "partial", "partial", "full", "partial"]
    left, top, right, bottom = told[1]["part"]
    assert (top, bottom) == (HEIGHT_PX - 6, HEIGHT_PX - 5)  # turned with the picture
    assert (right, right - left) == (WIDTH_PX, 8) or right - left == 16
    assert told[0]["part"] is None


def test_nothing_is_left_of_a_driver_that_hangs(tmp_path: Path) -> None:
    child = tmp_path / "child"
    script = (
        "import subprocess, sys, time; p = subprocess.Popen(['sleep', '600']);"
        f"open({str(child)!r}, 'w').write(str(p.pid)); time.sleep(600)"
    )
    glass = {"adapter": "command", "argv": [PYTHON, "-c", script], "timeout_s": 1.0}
    with serving(picture(1)) as server:
        said = call_here(settings(server.address, glass), "once", state=tmp_path / "state")[1]
    assert "took longer than 1 s" in said
    state = Path(f"/proc/{child.read_text(encoding='ascii')}/stat")
    assert not state.exists() or state.read_text(encoding="ascii").split()[2] == "Z"


def _layout(bits: int, width_px: int, height_px: int, spare: int = 0) -> Layout:
    usual = shell_framebuffer._USUAL[bits]
    return Layout(width_px, height_px, bits, width_px * bits // 8 + spare, usual)


@pytest.mark.parametrize("bits", [16, 32])
def test_a_framebuffer_is_painted_as_sysfs_tells(tmp_path: Path, bits: int) -> None:
    """16 bits are five red, six green, five blue; 32 bits are blue, green, red, nothing: the usual layouts (linux/fb.h, from memory)."""
    sysfs = tmp_path / "sysfs" / "fb0"
    sysfs.mkdir(parents=True)
    stride = 200 * bits // 8 + 24
    for name, text in (("virtual_size", "200,120"), ("bits_per_pixel", str(bits)), ("stride", str(stride))):
        (sysfs / name).write_text(f"{text}\n", encoding="ascii")
    device = tmp_path / "fb0"
    device.write_bytes(bytes([7]) * (stride * 120 + 5))
    paint(device, _plates(), COLOURS, sysfs=tmp_path / "sysfs")
    data = np.frombuffer(device.read_bytes()[: stride * 120], dtype=np.uint8).reshape(120, stride)
    pixels = data[:, : 200 * bits // 8].copy().view("<u2" if bits == 16 else "<u4")
    values = np.array([0, 0xFFFF, 0xF800] if bits == 16 else [0, 0xFFFFFF, 0xFF0000])
    wanted = np.full((120, 200), values[1])
    top, left = (120 - HEIGHT_PX) // 2, (200 - WIDTH_PX) // 2
    wanted[top : top + HEIGHT_PX, left : left + WIDTH_PX] = values[values_of(_plates())]
    assert (pixels == wanted).all()
    assert device.read_bytes()[stride * 120 :] == bytes([7]) * 5  # not a byte beyond its end


def test_a_framebuffer_of_another_kind_is_told(tmp_path: Path) -> None:
    sysfs = tmp_path / "sysfs" / "fb0"
    sysfs.mkdir(parents=True)
    device = tmp_path / "fb0"
    device.write_bytes(b"")
    for size, bits, told in (
        ("200,120", "24", "24 bits"),
        ("100,50", "32", "too few"),
        ("x", "32", "layout"),
    ):
        for name, text in (("virtual_size", size), ("bits_per_pixel", bits), ("stride", "800")):
            (sysfs / name).write_text(text, encoding="ascii")
        with pytest.raises(OSError, match=told):
            paint(device, _plates(), COLOURS, sysfs=tmp_path / "sysfs")


def test_a_framebuffers_own_word_goes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The structures as <linux/fb.h> has them; the kernel's part is played by the test."""

    def ioctl(handle: int, request: int, into: bytearray) -> int:
        if request == 0x4600:
            struct.pack_into("=8I", into, 0, 180, 100, 200, 200, 0, 100, 16, 0)
            struct.pack_into("=9I", into, 32, 0, 5, 0, 5, 6, 0, 11, 5, 0)  # blue and red change places
        else:
            assert len(into) >= 80
            struct.pack_into("=I", into, 48, 400)  # on a machine of 64 bits
        return 0

    monkeypatch.setattr(fcntl, "ioctl", ioctl)
    device = tmp_path / "fb0"
    device.write_bytes(b"")
    paint(device, _plates(), COLOURS)
    data = np.frombuffer(device.read_bytes(), dtype="<u2").reshape(-1, 200)
    assert len(data) == 200
    assert not data[:100].any()
    shown = data[100:, :180]  # the second of two pages is seen
    values = np.array([0, 0xFFFF, 0x001F])
    assert (shown[2 : 2 + HEIGHT_PX, 8 : 8 + WIDTH_PX] == values[values_of(_plates())]).all()


def test_framed_in_the_middle() -> None:
    one = split(b"\x80\x00", width_px=1, height_px=1, inks=2)
    assert (
        framed(one, COLOURS[:2], _layout(16, 3, 3, spare=2)).hex()
        == "ffff" * 3 + "0000" + "ffff0000ffff0000" + "ffff" * 3 + "0000"
    )


_TK = """
import json, os, sys
TkVersion = 8.6
READABLE = 2
class PhotoImage:
    def __init__(self, data): open(os.environ["STUB_LOG"], "ab").write(data)
    def width(self): return 10
    def height(self): return 10
class Label:
    def __init__(self, *a, **k): pass
    def pack(self): pass
    def configure(self, image): pass
class Tk:
    def __init__(self): self.tk = self; self.handler = None
    def title(self, text): pass
    def update(self): pass
    def winfo_screenwidth(self): return 1000
    winfo_screenheight = winfo_screenwidth
    def createfilehandler(self, stream, mask, handler): self.handler = handler
    def deletefilehandler(self, stream): self.handler = None
    def mainloop(self):
        while self.handler: self.handler(sys.stdin, READABLE)
"""


def test_a_window_is_opened_once_and_fed_again(tmp_path: Path) -> None:
    """Tk itself is played by a stub: there is no screen here. The process, its pipes and the pictures are real."""
    (tmp_path / "stub").mkdir()
    (tmp_path / "stub" / "tkinter.py").write_text(_TK, encoding="utf-8")
    log = tmp_path / "log"
    with serving(picture(1)) as server:
        file = write_agent(tmp_path, settings(server.address, {"adapter": "window"}))
        with _running(file, tmp_path, PYTHONPATH=str(tmp_path / "stub"), STUB_LOG=str(log)) as agent:
            assert agent.line().startswith("shown")
            server.picture = picture(2)
            agent.signal(signal.SIGUSR1)
            assert agent.line().startswith("shown")
    shown = log.read_bytes()
    assert shown.count(b"\x89PNG") == 2
    (tmp_path / "last.png").write_bytes(b"\x89PNG" + shown.split(b"\x89PNG")[2])
    with Image.open(tmp_path / "last.png") as image:
        assert (np.array(image) == values_of(_plates(2))).all()


def test_without_a_screen_the_window_says_so(tmp_path: Path) -> None:
    with serving(picture(1)) as server:
        file = write_agent(tmp_path, settings(server.address, {"adapter": "window"}))
        ended = call(file, "once", state=tmp_path / "state")
    assert ended.returncode == 1
    assert "no window can be opened" in ended.stdout


class _Agent:
    """An agent that runs for ever, until it is told to end."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process

    def line(self) -> str:
        """The next line that it says."""
        assert self._process.stdout is not None
        return self._process.stdout.readline()

    def signal(self, number: int) -> None:
        """Sends it a signal."""
        self._process.send_signal(number)

    def wait(self) -> int:
        """Waits for its end; gives the exit status."""
        return self._process.wait(timeout=20)


@contextmanager
def _running(file: Path, folder: Path, **environment: str) -> Iterator[_Agent]:
    process = subprocess.Popen(
        [PYTHON, str(file), "run", "--state", str(folder / "state")],
        stdout=subprocess.PIPE,
        text=True,
        env={"PATH": os.environ["PATH"], "WALLBILL_KEY": "k", **environment},
    )
    with process:
        try:
            yield _Agent(process)
        finally:
            if process.poll() is None:
                process.terminate()
            assert process.wait(timeout=20) == 0
            assert process.stdout is not None
            process.stdout.close()


def _press(line: int, held_s: float, at_s: float = 1000.0) -> None:
    """A press as the kernel reports it (struct input_event, linux/input.h): key 28 down and up, each with its report's end."""
    for value, moment in ((1, at_s), (0, at_s + held_s)):
        seconds, micros = int(moment), round(moment % 1 * 1e6)
        os.write(line, struct.pack("@llHHi", seconds, micros, 1, 28, value))
        os.write(line, struct.pack("@llHHi", seconds, micros, 0, 0, 0))


def test_a_button_asks_for_news_and_for_the_next_sheet(tmp_path: Path) -> None:
    line = tmp_path / "event0"
    os.mkfifo(line)
    handle = os.open(line, os.O_RDWR)
    with serving(picture(1)) as server:
        values = settings(
            server.address, {"adapter": "file", "path": "x"}, button={"input": str(line), "least_s": 1}
        )
        with _running(write_agent(tmp_path, values), tmp_path) as agent:
            assert agent.line().startswith("shown")
            server.picture = picture(2)
            _press(handle, 0.2)
            assert agent.line().startswith("shown")
            assert json.loads(server.reports[-1].body)["woken_by"] == "button"
            server.picture = picture(3)
            _press(handle, 2.0, at_s=2000.0)
            assert agent.line().startswith("shown")
    os.close(handle)
    assert [json.loads(asked.body)["woken_by"] for asked in server.reports] == [
        "power",
        "button",
        "button",
        "button",
    ]
    asked = server.asked
    order = [(one.method, json.loads(one.body).get("button")) for one in asked if one.method == "POST"]
    assert order == [("POST", None), ("POST", None), ("POST", "next"), ("POST", None)]
    assert [one.method for one in asked][-3:] == ["POST", "GET", "POST"]  # first it asks, then it fetches


def test_nobody_can_wear_the_panel_out(tmp_path: Path) -> None:
    """A hundred presses while the panel rests are one refresh, when it has rested."""
    line = tmp_path / "event0"
    os.mkfifo(line)
    handle = os.open(line, os.O_RDWR)
    with serving(picture(1)) as server:
        values = settings(
            server.address,
            {"adapter": "file", "path": "x"},
            button={"input": str(line), "least_s": 1},
            limits={"least_interval_s": 2},
        )
        with _running(write_agent(tmp_path, values), tmp_path) as agent:
            assert agent.line().startswith("shown")
            server.picture = picture(2)
            for number in range(100):
                _press(handle, 0.1, at_s=1000.0 + number)
            assert agent.line().startswith("shown")
        assert len(server.pictures_asked) == 2
    os.close(handle)


def test_a_button_that_is_gone_is_waited_for_no_more(tmp_path: Path) -> None:
    line = tmp_path / "event0"
    os.mkfifo(line)
    handle = os.open(line, os.O_RDWR)
    with serving(picture(1)) as server:
        values = settings(server.address, {"adapter": "file", "path": "x"}, button={"input": str(line)})
        with _running(write_agent(tmp_path, values), tmp_path) as agent:
            assert agent.line().startswith("shown")
            os.close(handle)  # unplugged
            agent.signal(signal.SIGUSR1)
            assert agent.line().startswith("same")


def test_input_events_come_in_pieces(tmp_path: Path) -> None:
    line = tmp_path / "event0"
    os.mkfifo(line)
    handle = os.open(line, os.O_RDWR)
    found = InputLine(str(line))
    assert found.edges() == ()
    event = struct.pack("@llHHi", 5, 500000, 1, 28, 1)
    os.write(handle, event[:10])
    assert list(found.edges()) == []
    os.write(
        handle, event[10:] + struct.pack("@llHHi", 6, 0, 1, 28, 2) + struct.pack("@llHHi", 7, 0, 1, 28, 0)
    )
    assert list(found.edges()) == [(True, 5.5), (False, 7.0)]  # the kernel's own repeat is no change
    found.close()
    os.close(handle)


def _button(**over: Any) -> Button:
    plain = {"input": "", "chip": "/dev/gpiochip0", "line": "17", "active_low": True, "bias": "pull-up"}
    return Button(**{**plain, "long_s": 1.5, "least_s": 15.0, **over})


def test_a_gpio_line_is_asked_for_as_gpiod_wants_it() -> None:
    """gpiod 2 is played by the test: its names are those of the package's documentation; there is no chip here."""
    asked: dict[str, Any] = {}
    released = []
    events = [SimpleNamespace(event_type="rising", timestamp_ns=2_500_000_000)]
    request = SimpleNamespace(fd=7, read_edge_events=lambda: events, release=lambda: released.append(1))

    def request_lines(chip: str, **more: Any) -> Any:
        asked.update(chip=chip, **more)
        return request

    gpiod = SimpleNamespace(
        request_lines=request_lines,
        LineSettings=lambda **settings: settings,
        EdgeEvent=SimpleNamespace(Type=SimpleNamespace(RISING_EDGE="rising")),
        line=SimpleNamespace(
            Bias=SimpleNamespace(PULL_UP="up", PULL_DOWN="down", AS_IS="as-is"),
            Direction=SimpleNamespace(INPUT="input"),
            Edge=SimpleNamespace(BOTH="both"),
        ),
    )
    line = GpioLine(_button(), gpiod)
    assert asked["chip"] == "/dev/gpiochip0"
    assert asked["config"] == {
        17: {"direction": "input", "edge_detection": "both", "bias": "up", "active_low": True,
             "debounce_period": timedelta(milliseconds=20)}
    }  # fmt: skip
    assert line.fileno() == 7
    assert list(line.edges()) == [(True, 2.5)]
    line.close()
    assert released


def test_an_older_gpiod_or_none_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "gpiod", SimpleNamespace())
    with pytest.raises(OSError, match="older"):
        open_line(_button())
    monkeypatch.setitem(sys.modules, "gpiod", None)
    with pytest.raises(OSError, match="needs gpiod 2"):
        open_line(_button())


def test_tls_is_verified(tmp_path: Path) -> None:
    ca, other = trustme.CA(), trustme.CA()
    for name, each in (("ca", ca), ("other", other)):
        each.cert_pem.write_to_path(str(tmp_path / f"{name}.pem"))
    glass = {"adapter": "file", "path": "x"}
    over = {
        "not_after": datetime.now(UTC) - timedelta(days=3),
        "not_before": datetime.now(UTC) - timedelta(days=9),
    }

    def said(address: str, state: str, **network: Any) -> str:
        values = settings(address, glass, network={"quiet_s": 5, "patience_s": 9, **network})
        return call_here(values, "once", "--now", state=tmp_path / state)[1]

    mine = str(tmp_path / "ca.pem")
    with serving(picture(1)) as server:
        with serving_securely(server, ca) as address:
            assert said(address, "a", ca_file=mine).startswith("shown")
            assert "CERTIFICATE_VERIFY_FAILED" in said(address, "b", ca_file=str(tmp_path / "other.pem"))
            assert "CERTIFICATE_VERIFY_FAILED" in said(address, "c")  # the system's knows it not
            assert "CERTIFICATE_VERIFY_FAILED" in said(
                address.replace("localhost", "127.0.0.1"), "d", ca_file=mine
            )
            assert "No such file" in said(address, "e", ca_file=str(tmp_path / "none.pem"))
        with serving_securely(server, ca, **over) as address:
            assert "CERTIFICATE_VERIFY_FAILED" in said(address, "f", ca_file=mine)
            assert said(address, "g", ca_file=mine, check_dates=False).startswith("shown")
        assert len(server.pictures_asked) == 2


def test_two_copies_do_not_run_at_once(tmp_path: Path) -> None:
    with serving(picture(1)) as server:
        file = write_agent(tmp_path, settings(server.address, {"adapter": "file", "path": "x"}))
        with _running(file, tmp_path) as agent:
            assert agent.line().startswith("shown")
            ended = call(file, "once", state=tmp_path / "state")
            assert ended.returncode == shell_main.BUSY
            assert "another copy" in ended.stderr
        assert call(file, "once", "--now", state=tmp_path / "state").returncode == 0


def test_a_wake_that_was_begun_is_finished_when_the_agent_is_told_to_end(tmp_path: Path) -> None:
    begun, done = tmp_path / "begun", tmp_path / "done"
    os.mkfifo(begun)
    script = (
        f"import sys, time; open({str(begun)!r}, 'w').write('x'); time.sleep(0.5); open({str(done)!r}, 'w')"
    )
    with serving(picture(1)) as server:
        values = settings(server.address, {"adapter": "command", "argv": [PYTHON, "-c", script]})
        with _running(write_agent(tmp_path, values), tmp_path) as agent:
            assert begun.read_text(encoding="ascii") == "x"
            agent.signal(signal.SIGTERM)
            assert agent.line().startswith("shown")
            assert agent.wait() == 0
    assert done.exists()


def test_keys_come_from_where_only_the_owner_reads(tmp_path: Path) -> None:
    with serving(picture(1)) as server:
        file = write_agent(tmp_path, settings(server.address, {"adapter": "file", "path": "x"}))
        key = file.with_suffix(".key")
        key.write_text("from-a-file\n", encoding="ascii")
        key.chmod(0o644)
        ended = call(file, "once", "--now", state=tmp_path / "state", key="")
        assert ended.returncode == shell_main.CONFIG
        assert f"mend: chmod 600 {key}" in ended.stderr
        key.chmod(0o600)
        call(file, "once", "--now", state=tmp_path / "state", key="")
        call(file, "once", "--now", state=tmp_path / "state", key="from-the-environment")
        told = [asked.headers["authorization"] for asked in server.pictures_asked]
        assert told == ["Bearer from-a-file", "Bearer from-the-environment"]
        key.write_text("two words", encoding="ascii")
        assert "that is no key" in call(file, "once", "--now", state=tmp_path / "state", key="").stderr


def test_a_credential_of_the_service_manager_goes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "wallbill.key").write_text("from-the-manager\n", encoding="ascii")
    monkeypatch.setenv("CREDENTIALS_DIRECTORY", str(tmp_path))
    monkeypatch.setenv("WALLBILL_KEY", "other")
    with serving(picture(1)) as server:
        call_here(
            settings(server.address, {"adapter": "file", "path": "x"}), "once", state=tmp_path / "state"
        )
        assert server.pictures_asked[0].headers["authorization"] == "Bearer from-the-manager"


def test_a_file_beside_overrides_the_settings(tmp_path: Path) -> None:
    file = write_agent(tmp_path, settings("http://127.0.0.1:1", {"adapter": "file", "path": "x"}))
    beside = file.with_suffix(".json")
    beside.write_text('{"usual_s": 7,\n "addres": ""}', encoding="utf-8")
    ended = call(file, "check", state=tmp_path / "state")
    assert ended.returncode == shell_main.CONFIG
    assert f"{beside} addres: there is no such setting" in ended.stderr
    assert f"{beside} usual_s: is 7" in ended.stderr
    beside.write_text("{", encoding="utf-8")
    assert f"{beside}:1: no JSON" in call(file, "check", state=tmp_path / "state").stderr
    beside.write_text('{"usual_s": 600}', encoding="utf-8")
    assert call(file, "check", state=tmp_path / "state").stdout == "the settings are good\n"


@pytest.mark.parametrize(
    "words", [["sing"], ["once", "--later"], ["run", "--now"], ["once", "--settings"], ["-h"]]
)
def test_it_says_how_it_is_called(tmp_path: Path, words: list[str]) -> None:
    file = write_agent(tmp_path, settings("http://127.0.0.1:1", {"adapter": "file", "path": "x"}))
    ended = subprocess.run([PYTHON, str(file), *words], capture_output=True, text=True, check=False)
    assert ended.returncode == shell_main.USAGE
    assert "usage: hall.pyz" in ended.stderr


def test_a_pattern_tries_the_panel_and_the_next_wake_brings_the_picture_back(tmp_path: Path) -> None:
    with serving(picture(1)) as server:
        values = settings(server.address, {"adapter": "file", "path": "x.png"})
        state = tmp_path / "state"
        call_here(values, "once", "--now", state=state)
        status, said = call_here(values, "pattern", state=state)
        assert (status, said[:6]) == (0, "shown:")
        with Image.open(state / "x.png") as image:
            pattern = np.array(image)
        assert (pattern[:8, :8] == 0).all()
        assert set(np.unique(pattern)) == {0, 1, 2}
        assert call_here(values, "once", "--now", state=state)[1].startswith("shown")
        status, said = call_here(values, "state", state=state)
        assert f"tag: {picture(1).tag}" in said
    shutil.rmtree(state)

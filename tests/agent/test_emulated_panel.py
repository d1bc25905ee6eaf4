"""A new panel is connected as the guide says: by its function, by a command, with the right and the wrong polarity, and when it hangs."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.agent import emulated_panel
from tests.agent.agents import PYTHON, settings, write_agent
from tests.agent.fault_server import HEIGHT_PX, WIDTH_PX, picture, serving
from tests.agent.guide import GUIDE, blocks

_COMMAND = """
import json, sys
sys.path.insert(0, {folder!r})
import hall_panel
info = json.loads(sys.stdin.buffer.readline())
class Fed: planes = [sys.stdin.buffer.read(length) for length in info["bytes"]]
hall_panel.show(Fed, info)
"""


@contextmanager
def _panel(folder: Path, refresh_s: float = 0.3) -> Iterator[Path]:
    """An emulated panel; gives the file that shows what is on its glass."""
    glass = folder / "glass.pixels"
    told = {"width_px": WIDTH_PX, "height_px": HEIGHT_PX, "refresh_s": refresh_s, "glass": str(glass)}
    place = folder / "panel.socket"
    place.unlink(missing_ok=True)
    with subprocess.Popen(
        [sys.executable, emulated_panel.__file__, str(place), json.dumps(told)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stdin is not None
        assert process.stdout.readline() == b"ready\n"
        yield glass
        process.stdin.close()


def _wake(folder: Path, address: str, glass: dict[str, Any], **over: Any) -> subprocess.CompletedProcess[str]:
    file = write_agent(folder, settings(address, glass, **over))
    (folder / "hall_panel.py").write_text(blocks(GUIDE, "python")[0], encoding="utf-8")
    shutil.copy(Path(__file__).with_name("wires.py"), folder / "wires.py")
    return subprocess.run(
        [PYTHON, str(file), "once", "--now", "--state", str(folder / "state")],
        capture_output=True,
        text=True,
        timeout=60,
        env={"PATH": os.environ["PATH"], "EMULATED_PANEL": str(folder / "panel.socket"), "WALLBILL_KEY": "k"},
        check=False,
    )


def _pixels(number: int) -> bytes:
    plates = np.frombuffer(picture(number).plates, dtype=np.uint8).reshape(3, HEIGHT_PX, -1)
    bits = np.unpackbits(plates, axis=2, count=WIDTH_PX)
    return bytes(bits.argmax(axis=0).astype(np.uint8).tobytes())


def test_a_function_drives_the_panel(tmp_path: Path) -> None:
    with _panel(tmp_path) as glass, serving(picture(1)) as server:
        ended = _wake(tmp_path, server.address, {"adapter": "module", "show": "hall_panel:show"})
        assert ended.stdout.startswith("shown;"), ended
        assert glass.read_bytes() == _pixels(1)
        report = json.loads(server.reports[-1].body)
        assert 300 <= report["refresh_ms"] < 3000
        assert report["shown"] == picture(1).tag


def test_a_command_drives_the_panel(tmp_path: Path) -> None:
    command = [PYTHON, "-c", _COMMAND.format(folder=str(tmp_path))]
    with _panel(tmp_path) as glass, serving(picture(2)) as server:
        ended = _wake(tmp_path, server.address, {"adapter": "command", "argv": command})
        assert ended.stdout.startswith("shown;"), ended
        assert glass.read_bytes() == _pixels(2)


def test_polarity_is_a_setting(tmp_path: Path) -> None:
    """Fed the other way round the panel shows nonsense; turned over once more it is right."""
    wrong = [{"inks": ["black"], "one_means": "ink"}, {"inks": ["red"], "one_means": "paper"}]
    with _panel(tmp_path) as glass, serving(picture(3)) as server:
        _wake(
            tmp_path,
            server.address,
            {"adapter": "module", "show": "hall_panel:show"},
            packing={"planes": wrong},
        )
        pixels = np.frombuffer(glass.read_bytes(), dtype=np.uint8)
        right = np.frombuffer(_pixels(3), dtype=np.uint8)
        assert not (pixels == right).any()


@pytest.mark.parametrize("adapter", ["module", "command"])
def test_a_panel_that_stays_busy_is_given_up_and_tried_again(tmp_path: Path, adapter: str) -> None:
    command = [PYTHON, "-c", _COMMAND.format(folder=str(tmp_path))]
    glass_settings = {"adapter": adapter, "show": "hall_panel:show", "argv": command, "timeout_s": 0.8}
    with serving(picture(1)) as server:
        with _panel(tmp_path, emulated_panel.STUCK):
            ended = _wake(tmp_path, server.address, glass_settings)
            assert ended.returncode == 1
            assert "took longer than 0.8 s" in ended.stdout
        report = json.loads(server.reports[-1].body)
        assert "took longer" in report["error"]
        assert "shown" not in report
        with _panel(tmp_path) as glass:
            server.asked.clear()
            ended = _wake(tmp_path, server.address, {**glass_settings, "timeout_s": 20})
            assert ended.stdout.startswith("shown;")
            assert "if-none-match" not in server.pictures_asked[0].headers
            assert glass.read_bytes() == _pixels(1)


def test_what_a_driver_says_when_it_fails_is_told(tmp_path: Path) -> None:
    with serving(picture(1)) as server:
        ended = _wake(tmp_path, server.address, {"adapter": "module", "show": "hall_panel:show"})
        assert ended.returncode == 1
        assert "FileNotFoundError" in ended.stdout  # the socket that is not there
        assert "FileNotFoundError" in json.loads(server.reports[-1].body)["error"]
        assert "Traceback" in (tmp_path / "state" / "driver.log").read_text(encoding="utf-8")

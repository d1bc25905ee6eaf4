"""The agent for Linux boards: memory while it sleeps, processor time of a wake, time to pack a picture.

Beside it, in the same run: a Python that does nothing, and the same wake by the standard library's own HTTP client.
"""

import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import trustme

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.agent.agents import PYTHON, settings, write_agent
from tests.agent.fault_server import picture, serving
from tests.agent.secured import serving_securely

from wallbill.agent.device.packing import pack, usual_packing
from wallbill.agent.device.pictures import png_of, read_png
from wallbill.agent.device.plates import split

GOAL_MB, GOAL_S = 20, 0.2
_TURNS = 7
_URLLIB = """
import hashlib, json, urllib.error, urllib.request, sys
request = urllib.request.Request(sys.argv[1], headers={"If-None-Match": sys.argv[2]})
try:
    urllib.request.urlopen(request, timeout=20)
except urllib.error.HTTPError as error:
    assert error.code == 304
"""
_IDLE = "import sys; sys.stdin.read()"


def _cpu_s(argv: list[str], environment: dict[str, str]) -> float:
    """The least processor time of a few runs, seconds."""
    spans = []
    for _ in range(_TURNS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(argv, env=environment, check=True, capture_output=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        spans.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(spans)


def _resident_mb(pid: int) -> float:
    """Resident memory of a process, megabytes of 2 ** 20 bytes (proc_pid_status(5))."""
    for line in Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    raise ValueError("no VmRSS")


def _idle_mb(file: Path, state: Path, environment: dict[str, str], wakes: int) -> float:
    """Resident memory of the agent between wakes, after some."""
    argv = [PYTHON, str(file), "run", "--state", str(state)]
    with subprocess.Popen(argv, stdout=subprocess.PIPE, env=environment) as process:
        assert process.stdout is not None
        for wake in range(wakes):
            process.stdout.readline()
            if wake + 1 < wakes:
                process.send_signal(signal.SIGUSR1)
        time.sleep(0.2)
        found = _resident_mb(process.pid)
        process.terminate()
        process.wait()
    return found


def _bare_mb() -> float:
    with subprocess.Popen([PYTHON, "-c", _IDLE], stdin=subprocess.PIPE) as process:
        time.sleep(0.3)
        found = _resident_mb(process.pid)
        assert process.stdin is not None
        process.stdin.close()
    return found


def _packing() -> list[str]:
    """Processor time of unpacking and packing pictures as large as panels are."""
    lines = [
        "",
        "| picture | check plates | pack | pack, turned by 90° | read PNG |",
        "| --- | --- | --- | --- | --- |",
    ]
    for width_px, height_px, inks in ((800, 480, 2), (800, 480, 3), (800, 480, 7), (1872, 1404, 16)):
        values = np.random.default_rng(1).integers(0, inks, (height_px, width_px))
        data = b"".join(np.packbits(values == ink, axis=1).tobytes() for ink in range(inks))
        names = (
            ("black", "white", "red")[:inks] if inks < 4 else tuple(f"ink-{place}" for place in range(inks))
        )
        colours = tuple((place, place, place) for place in range(inks))
        spans = []
        began = time.process_time()
        whole = split(data, width_px=width_px, height_px=height_px, inks=inks)
        spans.append(time.process_time() - began)
        usual = usual_packing(names)
        for packing in (usual, usual._replace(rotation_deg=90)):
            pack(whole, packing, names)
            began = time.process_time()
            pack(whole, packing, names)
            spans.append(time.process_time() - began)
        png = png_of(whole, colours)
        began = time.process_time()
        read_png(png, colours, width_px=width_px, height_px=height_px)
        spans.append(time.process_time() - began)
        cells = " | ".join(f"{1000 * span:.1f} ms" for span in spans)
        lines.append(f"| {width_px} × {height_px}, {inks} inks | {cells} |")
    return lines


def report() -> str:
    """The tables, as Markdown."""
    environment = {"PATH": os.environ["PATH"], "WALLBILL_KEY": "k"}
    with tempfile.TemporaryDirectory() as folder, serving(picture(1)) as server:
        place = Path(folder)
        file = write_agent(place, settings(server.address, {"adapter": "file", "path": "x.png"}))
        state = place / "state"
        idle = _idle_mb(file, state, environment, wakes=5)
        ca = trustme.CA()
        ca.cert_pem.write_to_path(str(place / "ca.pem"))
        with serving_securely(server, ca) as address:
            network = {"ca_file": str(place / "ca.pem"), "quiet_s": 9, "patience_s": 20}
            values = settings(address, {"adapter": "file", "path": "x.png"}, network=network)
            secure = _idle_mb(write_agent(place / "tls", values), place / "tls-state", environment, wakes=5)
        once = [PYTHON, str(file), "once", "--now", "--state", str(state)]
        agent = _cpu_s(once, environment)
        tag = json.loads((state / "state.json").read_text(encoding="utf-8"))["tag"]
        url = f"{server.address}/displays/hall/impression.plates"
        other = _cpu_s([PYTHON, "-c", _URLLIB, url, tag], environment)
        nothing = _cpu_s([PYTHON, "-c", ""], environment)
    bare = _bare_mb()
    lines = [
        "| | agent | goal | Python that does nothing | urllib, a bare fetch |",
        "| --- | --- | --- | --- | --- |",
        f"| resident memory between wakes | {idle:.1f} MB | {GOAL_MB} MB | {bare:.1f} MB | |",
        f"| the same, over TLS | {secure:.1f} MB | {GOAL_MB} MB | | |",
        f"| processor time, start to 304 | {agent:.3f} s | {GOAL_S} s | {nothing:.3f} s | {other:.3f} s |",
        f"| ratio to urllib | {agent / other:.2f} | | | 1 |",
        *_packing(),
    ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    print(report())

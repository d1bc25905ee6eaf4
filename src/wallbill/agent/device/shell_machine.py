"""The machine: its clock that needs no setting, its sensors, and its sleep."""

from __future__ import annotations

import os
import re
import time
from pathlib import Path

from wallbill.agent.device.settings import Sensor

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_SENSOR_S = 10
_FIGURE = re.compile(r"(?<![\w.])[-+]?\d+(\.\d+)?")


def up_s() -> float:
    """Seconds since the machine's start, sleep included (clock_gettime(2), CLOCK_BOOTTIME)."""
    return time.clock_gettime(time.CLOCK_BOOTTIME)


def boot() -> str:
    """What names this start of the machine (proc_sys_kernel(5)); its process's own start where the kernel does not say."""
    try:
        return _BOOT_ID.read_text(encoding="ascii").strip()
    except OSError:
        return f"process-{os.getpid()}-{time.monotonic_ns()}"


def sensed(sensor: Sensor | None) -> float | None:
    """The figure of a sensor; None where there is none. Raises `OSError` or `ValueError` where it cannot be read."""
    if sensor is None:
        return None
    if sensor.file:
        text = Path(sensor.file).read_bytes()[:4096].decode("utf-8", "replace")
    else:
        import subprocess  # noqa: PLC0415  most boards have no such sensor, and memory is dear

        try:
            ended = subprocess.run(  # noqa: S603  the command stands in the owner's settings
                sensor.argv, stdin=subprocess.DEVNULL, capture_output=True, timeout=_SENSOR_S, check=True
            )
        except subprocess.SubprocessError as error:
            raise OSError(f"{sensor.argv[0]} gives no figure") from error
        text = ended.stdout[:4096].decode("utf-8", "replace")
    found = _FIGURE.search(text)
    if found is None:
        raise ValueError(f"no figure in {sensor.file or sensor.argv[0]}")
    return float(found.group()) * sensor.scale + sensor.offset

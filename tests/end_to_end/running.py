"""Runs the installed command in a process of its own, and reads what it wrote."""

import ctypes
import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

PROGRAM = Path(sys.executable).with_name("wallbill")
ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "examples" / "fennel-quay"
AT = "2026-03-14T08:00"
DISPLAYS = ("hall", "kitchen", "workshop", "study", "porch")

_CLONE_NEWNET = 0x40000000  # from memory: sched.h of Linux
_PR_CAPBSET_DROP = 24  # from memory: prctl.h of Linux
_CAP_DAC_OVERRIDE, _CAP_DAC_READ_SEARCH = 1, 2  # from memory: capability.h of Linux


@dataclass(frozen=True)
class Said:
    """How a command ended."""

    status: int
    out: str
    err: str


def environment(cache: Path, **more: str) -> dict[str, str]:
    """The environment with the cache in ``cache``."""
    return {**os.environ, "XDG_CACHE_HOME": str(cache), **more}


def wallbill(
    *arguments: object,
    cache: Path,
    more: Mapping[str, str] | None = None,
    before: Callable[[], None] | None = None,
    limit_s: float = 60.0,
) -> Said:
    """Runs ``wallbill`` with these arguments; fails if it hangs or shows a trace.

    ``before``: called in the new process before the command starts.
    """
    done = subprocess.run(
        [str(PROGRAM), *map(str, arguments)], env=environment(cache, **(more or {})), preexec_fn=before,
        capture_output=True, text=True, timeout=limit_s, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stderr, done.stderr
    return Said(done.returncode, done.stdout, done.stderr)


def without_network() -> None:
    """Leaves the process in an empty network of its own, where the system lets it; else nothing is done."""
    ctypes.CDLL(None).unshare(_CLONE_NEWNET)


def without_power() -> None:
    """Takes from a superuser the power to read and write whatever it likes, so that modes of files count."""
    libc = ctypes.CDLL(None)
    for power in (_CAP_DAC_OVERRIDE, _CAP_DAC_READ_SEARCH):
        libc.prctl(_PR_CAPBSET_DROP, power, 0, 0, 0)


def codes_of(path: Path) -> tuple[NDArray[np.uint8], tuple[tuple[int, ...], ...]]:
    """The palette indices of a PNG and the palette as it stands in the file."""
    data = path.read_bytes()
    at = data.index(b"PLTE")
    length = int.from_bytes(data[at - 4 : at], "big")
    palette = data[at + 4 : at + 4 + length]
    with Image.open(path) as image:
        assert image.mode == "P"
        codes = np.asarray(image, dtype=np.uint8)
    return codes, tuple(tuple(palette[i : i + 3]) for i in range(0, length, 3))


def files_in(folder: Path) -> dict[str, bytes]:
    """Every file under a folder, hidden ones included, with its bytes."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def plates_of(path: Path, *, count: int, size_px: tuple[int, int]) -> NDArray[np.bool_]:
    """The plates in a file: bool, shape (plate, row, column). Written out here by the words of the reference."""
    width_px, height_px = size_px
    stride = (width_px + 7) // 8
    data = np.frombuffer(path.read_bytes(), dtype=np.uint8)
    assert data.size == count * stride * height_px
    bits = np.unpackbits(data.reshape(count, height_px, stride), axis=2, bitorder="big")
    assert not bits[..., width_px:].any()
    return bits[..., :width_px].astype(np.bool_)


def keys_in(value: Any) -> set[str]:
    """The keys of a JSON object."""
    assert isinstance(value, dict)
    return set(value)

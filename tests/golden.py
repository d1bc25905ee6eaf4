"""Golden pictures: small palette PNGs of ink codes, compared code by code with no tolerance.

A test calls `check_golden`. To accept a new or changed picture, name that one: ``ACCEPT=icon-rain-48 pytest ...``;
look at it before you commit it. On failure a picture of expected, got and differing pixels is left in
``tests/failures``.
"""

import os
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Rgb = tuple[int, int, int]

GOLDEN = Path(__file__).parent / "golden"
FAILURES = Path(__file__).parent / "failures"
MOST_BYTES = 4096
UNLIKE: Rgb = (255, 0, 255)


def check_golden(name: str, codes: NDArray[np.uint8], palette: Sequence[Rgb]) -> None:
    """Fails unless ``codes`` (uint8, height by width) equal the picture ``tests/golden/<name>.png``.

    ``palette``: the sRGB colour of each code, only for people who open the picture: codes are what is compared.
    """
    if codes.size and int(codes.max()) >= len(palette):
        raise ValueError(f"code {int(codes.max())} has no colour in a palette of {len(palette)}")
    path = GOLDEN / f"{name}.png"
    if os.environ.get("ACCEPT") == name:
        _write(path, codes, palette)
        size = path.stat().st_size
        if size > MOST_BYTES:
            path.unlink()
            raise AssertionError(f"{name}: {size} bytes, the most is {MOST_BYTES}: test a smaller part")
        return
    if not path.exists():
        _write(FAILURES / f"{name}-got.png", codes, palette)
        raise AssertionError(
            f"no golden picture {name}: see tests/failures/{name}-got.png, then ACCEPT={name}"
        )
    with Image.open(path) as picture:
        if picture.mode != "P":
            raise AssertionError(f"{name}: a golden picture is a palette picture, got mode {picture.mode}")
        expected = np.asarray(picture, dtype=np.uint8)
    if np.array_equal(expected, codes):
        return
    raise AssertionError(
        f"{name}: {_report(name, expected, codes, palette)}\n  if this is wanted: ACCEPT={name}"
    )


def _write(path: Path, codes: NDArray[np.uint8], palette: Sequence[Rgb]) -> None:
    """Writes a palette picture of the codes."""
    path.parent.mkdir(parents=True, exist_ok=True)
    indexed = Image.frombytes("P", (codes.shape[1], codes.shape[0]), np.ascontiguousarray(codes).tobytes())
    indexed.putpalette([part for colour in palette for part in colour])
    indexed.save(path, optimize=True)


def _report(name: str, expected: NDArray[np.uint8], got: NDArray[np.uint8], palette: Sequence[Rgb]) -> str:
    """Says where the pictures differ, and leaves a picture of expected, got and the difference."""
    _write(FAILURES / f"{name}-got.png", got, palette)
    if expected.shape != got.shape:
        return f"{got.shape[1]} x {got.shape[0]} pixels, expected {expected.shape[1]} x {expected.shape[0]}"
    unlike = expected != got
    colours = (*palette, UNLIKE)
    marks = np.where(unlike, len(palette), 0).astype(np.uint8)
    along = 1 if got.shape[0] > got.shape[1] else 0  # a wide picture is stacked, a high one set side by side
    gap = np.full_like(np.take(got, [0, 0], axis=along), len(palette))
    strip = np.concatenate([expected, gap, got, gap, marks], axis=along)
    _write(FAILURES / f"{name}.png", np.repeat(np.repeat(strip, 3, axis=0), 3, axis=1), colours)
    y, x = np.nonzero(unlike)
    kinds = Counter(zip(expected[unlike].tolist(), got[unlike].tolist(), strict=True))
    changes = ", ".join(f"{count} of {old} to {new}" for (old, new), count in kinds.most_common())
    return (
        f"{len(x)} of {got.size} pixels differ, in x {x.min()}..{x.max()}, y {y.min()}..{y.max()} ({changes}): "
        f"see tests/failures/{name}.png (expected, got, difference)"
    )

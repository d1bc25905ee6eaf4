"""Separation measured in one run: quality, texture, stability, speed, memory and files, beside general image libraries.

The parts are in ``inks_*.py`` beside this file. Run alone it takes some minutes: ``python benchmarks/inks.py``.
"""

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks import inks_files, inks_quality, inks_speed, inks_stability, inks_texture
from benchmarks.inks_pictures import PANELS

from wallbill.panels.model import Tone

_INK_SETS = tuple(name for name, panel in PANELS if panel.tone is Tone.INKS)
_LESS_THAN_USUAL = 0.55
_LESS_THAN_LIBRARY = {2: 0.08, 3: 0.08, 4: 0.18, 6: 0.18}
_MOST_TONE = 0.1  # percent
_QUICK, _FINE, _COMPILED = 1.3, 120, 30  # times the best library way
_MEMORY_MB = dict(zip(inks_speed.SIZES, (40, 150), strict=True))


def _held(what: str, *, got: float, limit: float, most: bool) -> str:
    good = got <= limit if most else got >= limit
    sign = "at most" if most else "at least"
    return f"| {what} | {sign} {limit:g} | {got:.3g} | {'holds' if good else '**misses**'} |"


def _quality_held(found: inks_quality.Measured) -> Iterator[str]:
    for name, panel in PANELS:
        if name not in _INK_SETS:
            continue
        fine = found[name, "fine"].target
        for other, limit in (
            ("usual", _LESS_THAN_USUAL),
            ("best library", _LESS_THAN_LIBRARY[len(panel.inks)]),
        ):
            less = (1 - fine / found[name, other].target) * 100
            yield _held(f"{name}: error below the {other} way's, %", got=less, limit=limit * 100, most=False)


def _texture_held(found: dict[tuple[str, str], inks_texture.Texture]) -> Iterator[str]:
    for (name, way), each in found.items():
        if each.dots is not None:
            yield _held(f"{name}, {way}: tone of dots off, %", got=each.dots, limit=_MOST_TONE, most=True)
        # On six inks the serpentine mixes greys of colours: held against ours that does so too.
        if way == ("fine, mixed" if name == "six inks" else "fine"):
            plain = found[name, "serpentine"].anisotropy_db
            yield _held(
                f"{name}, {way}: anisotropy, dB", got=each.anisotropy_db, limit=round(plain, 1), most=True
            )


def _stability_held(found: inks_stability.Changed) -> Iterator[str]:
    for (name, way), (outside, _, _) in found.items():
        if way in {"quick", "fine, page before known"}:
            yield _held(f"{name}, {way}: changed outside a box, %", got=outside, limit=0, most=True)


def _speed_held(found: inks_speed.Measured) -> Iterator[str]:
    for name, _ in PANELS:
        for size in inks_speed.SIZES:
            base = found[name, size, "best library"].time_ms
            told = f"{name}, {size[0]} x {size[1]}"
            for way, limit in (("quick", _QUICK), ("fine", _FINE), ("fine, Numba", _COMPILED)):
                got = found[name, size, way].time_ms / base
                yield _held(f"{told}, {way}: times the library", got=got, limit=limit, most=True)
            memory = found[name, size, "fine"].memory_mb
            yield _held(f"{told}, fine: memory, MB", got=memory, limit=_MEMORY_MB[size], most=True)


def sections() -> Iterator[str]:
    """The tables as Markdown, each as soon as it is measured; the last says what of the aims holds."""

    def told(title: str, rows: Iterable[str]) -> str:
        return f"### {title}\n\n" + "\n".join(rows) + "\n"

    quality = inks_quality.measure()
    yield told(
        "Error: against the mapped picture / the picture with its lightness fitted / in L\\* alone",
        inks_quality.report(quality),
    )
    texture = inks_texture.measure()
    yield told("Texture on ten flat greys", inks_texture.report(texture))
    stability = inks_stability.measure()
    yield told("Stability", inks_stability.report(stability))
    speed = inks_speed.measure()
    yield told("Time, times the best library way's, and memory", inks_speed.report(speed))
    yield told("Pages", inks_speed.pages())
    held = (
        *_quality_held(quality),
        *_texture_held(texture),
        *_stability_held(stability),
        *_speed_held(speed),
    )
    yield told("What has to hold", ("| what | aim | measured | |", "|" + " --- |" * 4, *held))
    yield told("Files", inks_files.report())


def report() -> str:
    """All tables as Markdown."""
    return "\n".join(sections())


if __name__ == "__main__":
    for section in sections():
        print(section, flush=True)

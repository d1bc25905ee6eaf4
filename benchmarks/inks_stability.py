"""What a change in one place does to the dots elsewhere: china at 800 x 480, a box of 60 x 40 painted over, or noise on all."""

from functools import partial

import numpy as np
from benchmarks import inks_ways as ways
from benchmarks.inks_pictures import PANELS, full_page
from benchmarks.inks_ways import Setting

from wallbill.inks.eye import REACH
from wallbill.inks.impression import Codes, Mask, Rgb
from wallbill.inks.inkset import Neutrals
from wallbill.inks.manner import Manner, Standing, Way
from wallbill.inks.separation import separate
from wallbill.inks.shell_compiled import compiled_step
from wallbill.panels.model import Tone

BOX = (slice(200, 240), slice(400, 460))
"""Rows and columns that change."""

Changed = dict[tuple[str, str], tuple[float, float, float]]
"""By ink set and way, percent of pixels that got another ink: outside the box, farther than four pixels outside it, and
anywhere under noise of one level."""


def _locked(rgb: Rgb, setting: Setting, *, before: Rgb | None = None) -> Codes:
    """The fine way, told what stands where there is a page ``before``."""
    whole: Mask = np.ones(rgb.shape[:2], dtype=np.bool_)
    tables = setting.tables if setting.panel.tone is Tone.INKS else None
    standing = None
    if before is not None:
        standing = Standing(before, whole, _locked(before, setting))
    manner = Manner(Way.FINE, Neutrals.PLAIN, standing=standing, step_for=lambda _: compiled_step())
    return separate(rgb, panel=setting.panel, picture=whole, tables=tables, manner=manner).codes


def measure() -> Changed:
    """Shares of changed pixels."""
    rgb = full_page(800, 480)
    boxed = rgb.copy()
    boxed[BOX] = 255 - boxed[BOX]
    chance = np.random.default_rng(5).integers(-1, 2, rgb.shape)
    noisy = np.clip(rgb.astype(int) + chance, 0, 255).astype(np.uint8)
    outside = np.ones(rgb.shape[:2], dtype=np.bool_)
    outside[BOX] = False
    beyond = outside.copy()
    rows, columns = BOX
    beyond[rows.start - REACH : rows.stop + REACH, columns.start - REACH : columns.stop + REACH] = False
    found: Changed = {}
    for name, panel in PANELS:
        setting = Setting(panel)
        for way, first, after in (
            ("best library", ways.best_library, ways.best_library),
            ("quick", ways.ours(Way.QUICK), ways.ours(Way.QUICK)),
            ("diffused", ways.ours(Way.DIFFUSED), ways.ours(Way.DIFFUSED)),
            ("fine, page before unknown", _locked, _locked),
            ("fine, page before known", _locked, partial(_locked, before=rgb)),
        ):
            stood = first(rgb, setting)
            one, other = (after(each, setting) != stood for each in (boxed, noisy))
            found[name, way] = (one[outside].mean() * 100, one[beyond].mean() * 100, other.mean() * 100)
    return found


def report(found: Changed) -> list[str]:
    """The shares as a table."""
    rows = [
        "| inks | way | outside the box, % | beyond 4 px of it, % | under noise of 1 level, % |",
        "|" + " --- |" * 5,
    ]
    for (name, way), (outside, beyond, noisy) in found.items():
        rows.append(f"| {name} | {way} | {outside:.3f} | {beyond:.3f} | {noisy:.2f} |")
    return rows

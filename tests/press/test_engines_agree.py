"""Both engines on small pages of CSS: where they agree, and where they are known not to.

A new version of an engine that mends or breaks one of these is told here: change the table in
``engine_cases.toml``, and the rule if it is no longer needed.
"""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from tests.press.makings import THREE, sheet

from wallbill.press.model import Rgb
from wallbill.press.pressing import PressTools, press_page
from wallbill.press.rules import RULES

CASES: dict[str, dict[str, Any]] = tomllib.loads(
    (Path(__file__).parent / "engine_cases.toml").read_text(encoding="utf-8")
)
SAME = 0.0025  # share of pixels that may differ strongly; measured: 0 on most pages that agree, over 1 % on the others
HEAD = "<!doctype html><style>body{margin:0;color:#000;background:#fff;font:16px/20px sans-serif}"


def share(first: Rgb, second: Rgb) -> float:
    """The share of pixels that differ by more than half of a channel's range."""
    return float((np.abs(first.astype(np.int16) - second).max(axis=2) > 127).mean())


@pytest.mark.parametrize("name", CASES)
def test_the_engines_are_as_the_table_says(
    name: str, tools: PressTools, chromium_tools: PressTools, tmp_path: Path
) -> None:
    case = CASES[name]
    page = sheet(f"{HEAD}{case['css']}</style>{case['html']}", on=THREE, width_px=200, height_px=150)
    ours, browser = press_page(page, tools), press_page(page, chromium_tools)
    differs = share(ours.rgb, browser.rgb)
    Image.fromarray(np.hstack([ours.rgb, browser.rgb])).save(tmp_path / "both.png")
    agree = differs <= SAME
    word = "mended" if agree else "broken"
    assert agree == case["same"], f"{word}: {differs:.2%} of the pixels differ, see {tmp_path / 'both.png'}"
    rules = {f.rule for f in ours.findings} & set(RULES)
    rules -= {"press.clipped"}  # some of these little pages set large words, which their edge cuts
    assert rules == ({case["rule"]} if "rule" in case else set())
    assert not {f.rule for f in browser.findings if not RULES[f.rule].every_engine}


def test_every_rule_of_the_default_engine_has_a_case() -> None:
    """But for the float, which never ends (see test_limits), and what depends on the page, not on CSS."""
    shown = {case["rule"] for case in CASES.values() if "rule" in case}
    mine = {rule for rule, known in RULES.items() if not known.every_engine}
    assert mine - shown == {"press.float", "press.empty-picture"}
    assert shown <= mine

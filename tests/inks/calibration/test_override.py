"""The profile that measuring writes: what was measured is in it, what stood there stays."""

import tomllib
from datetime import date
from pathlib import Path

import pytest

from wallbill.errors import PanelError
from wallbill.inks.calibration.fit import Fit
from wallbill.inks.calibration.light import Means
from wallbill.inks.calibration.override import Measuring, override_text
from wallbill.inks.calibration.shell import load_readings

WHEN = Measuring((Means.READINGS, Means.PHOTOGRAPH, Means.READINGS), date(2026, 5, 4))
FOUND = Fit(inks={"black": (19.004, 0.5, -2.0), "red": (34.0, 42.25, 27.0)}, n=1.42, patches=(), n_step=0.01)


def test_inks_factor_and_sources() -> None:
    values = tomllib.loads(override_text(FOUND, WHEN, {}))
    assert values["ink"] == {"black": {"lab": [19.0, 0.5, -2.0]}, "red": {"lab": [34.0, 42.25, 27.0]}}
    assert values["yule_nielsen_n"] == 1.42
    assert values["sources"]["ink"]["red"] == "measured 2026-05-04 by readings and photograph"
    assert values["sources"]["yule_nielsen_n"].startswith(
        "measured 2026-05-04 by readings and photograph; steps of 0.01"
    )


def test_what_was_not_measured_is_carried_over() -> None:
    old = tomllib.loads("""
        like = "5.8in-648x480-black-white-red"
        yule_nielsen_n = 1.1
        inks = ["black", "white", "red"]
        [ink.white]
        lab = [70, -1, 3]
        [ink.red]
        css = "#ff0000"
        lab = [33, 1, 2]
        [refresh]
        full_s = 14.5
        fast_s = "none"
        [sources]
        refresh = "stopwatch, \\"at\\" 20 °C"
        ink = "colorimeter"
    """)
    values = tomllib.loads(override_text(FOUND, WHEN, old))
    assert values["like"] == old["like"]
    assert values["inks"] == old["inks"]
    assert values["refresh"] == old["refresh"]
    assert values["ink"]["white"] == old["ink"]["white"]
    assert values["ink"]["red"] == {"css": "#ff0000", "lab": [34.0, 42.25, 27.0]}
    assert values["sources"]["refresh"] == old["sources"]["refresh"]
    assert values["sources"]["ink"]["white"] == "colorimeter"
    assert values["sources"]["ink"]["red"].startswith("measured")
    assert override_text(FOUND, WHEN, values) == override_text(FOUND, WHEN, old)


def test_by_eye_only_the_factor_is_written() -> None:
    text = override_text(Fit(inks={}, n=1.3, patches=()), Measuring((Means.EYE,), date(2026, 5, 4)), {})
    assert tomllib.loads(text) == {
        "yule_nielsen_n": 1.3,
        "sources": {"yule_nielsen_n": "measured 2026-05-04 by eye"},
    }


def test_readings_that_are_not_there_are_told(tmp_path: Path) -> None:
    with pytest.raises(PanelError, match="cannot be read"):
        load_readings(tmp_path / "gone.csv")
    (tmp_path / "film.csv").write_bytes(b"\0" * 4_000_001)
    with pytest.raises(PanelError, match="these are no readings"):
        load_readings(tmp_path / "film.csv")

"""Readings as instruments and spreadsheets write them, and what is wrong with some."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.errors import FaultList, PanelError
from wallbill.inks.calibration.readings import Readings, read_readings, text_of

NAMES = ("white", "black", "red", "black-f25", "black-f50")


def read(text: str) -> Readings:
    return read_readings(text, NAMES, file="r.csv")


def faults(text: str) -> list[str]:
    with pytest.raises((FaultList, PanelError)) as told:
        read(text)
    error = told.value
    return [str(one) for one in error.faults] if isinstance(error, FaultList) else [str(error)]


@pytest.mark.parametrize(
    "text",
    [
        "patch,L,a,b\nwhite,70.5,-1.25,3\n",
        "Patch;L*;a*;b*\nwhite;70,5;-1,25;3\n",
        "name\tL\ta\tb\nWHITE\t70,5\t-1,25\t3,0\n",
        "a,b,L,patch,remark\n-1.25,3,70.5,White,by the window\n",
        "# measured in May\n\npatch,L,a,b\n\nwhite , 70.5 , \N{MINUS SIGN}1.25 , 3\n",
        'patch,L,a,b\r\n"white","70.5","-1.25","3"\r\n',
    ],
)
def test_every_way_to_write_it(text: str) -> None:
    assert read(text).lights["white"].lab == pytest.approx((70.5, -1.25, 3), abs=1e-9)


def test_marks_and_encodings_of_spreadsheets() -> None:
    for data in ("\ufeffpatch,R\nwhite,0.4".encode(), "patch,R\nwhite,0.4".encode("utf-16")):
        assert set(read(text_of(data, file="r.csv")).lights) == {"white"}
    with pytest.raises(PanelError, match=r"r\.csv:2: this is not UTF-8"):
        text_of(b"patch,R\nwei\xdf,0.4", file="r.csv")


# CIE 15:2004: L* of Y = 0.18 is 49.496108, of 0.4 is 69.469531 (see test_colour).
@pytest.mark.parametrize(
    "text",
    [
        "patch,R\nwhite,0.4\nblack-f50,0.18",
        "patch,R\nwhite,40 %\nblack-f50,18%",
        "patch;R%\nwhite;40,0\nblack f50;18",
    ],
)
def test_reflectance_is_shares_or_hundredths(text: str) -> None:
    lights = read(text).lights
    assert lights["white"].lab[0] == pytest.approx(69.469531, abs=1e-6)
    assert lights["black-f50"].lab[0] == pytest.approx(49.496108, abs=1e-6)
    assert not lights["white"].has_colour


# D50 itself is a perfect white (CIE 15).
@pytest.mark.parametrize("scale", [1, 100])
def test_tristimulus_values(scale: float) -> None:
    x, y, z = np.array((0.96422, 1, 0.82521)) * scale
    assert read(f"patch,X,Y,Z\nwhite,{x},{y},{z}").lights["white"].lab == pytest.approx((100, 0, 0), abs=1e-6)


def test_readings_of_a_patch_are_averaged_in_light() -> None:
    light = read("patch,R\nwhite,0.30\nwhite,0.32\nwhite,0.31").lights["white"]
    assert light.luminance == pytest.approx(0.31, abs=1e-9)


def test_a_reading_far_from_its_fellows_is_left_out_and_told() -> None:
    found = read("patch,L,a,b\nwhite,70,0,0\nwhite,70.4,0,0\nwhite,58,0,0\nwhite,70.2,0,0")
    assert found.lights["white"].lab[0] == pytest.approx(70.2, abs=0.01)
    (finding,) = found.findings
    assert finding.rule == "inks.readings-apart"
    assert str(finding.where) == "r.csv:4 white"


def test_two_readings_that_differ_are_told_and_kept() -> None:
    found = read("patch,L,a,b\nwhite,70,0,0\nwhite,66,0,0")
    assert 67.9 < found.lights["white"].lab[0] < 68.2
    assert "a third time" in found.findings[0].mend
    assert not read("patch,L,a,b\nwhite,70,0,0\nwhite,69,0,0").findings


def test_all_faults_come_at_once_with_line_and_mend() -> None:
    told = faults("patch,L,a,b\nwhit,70,0,0\nblack,x,0,0\nred,31,,0\nwhite,130,0,0\nwhite,70,0,0,9,9")
    assert told[0].startswith("r.csv:2: there is no patch 'whit'\n  mend: Did you mean 'white'?")
    assert told[1].startswith("r.csv:3 L: 'x' is no number")
    assert told[2].startswith("r.csv:4 a: a number is missing")
    assert told[3].startswith("r.csv:5 white: 130, 0, 0: out of range")
    assert told[4].startswith("r.csv:6: 6 columns, the first line has 4")
    assert len(told) == 5


def test_decimal_commas_between_commas_are_told() -> None:
    (told,) = faults("patch,L,a,b\nwhite,70,5,-1,2,3,0")
    assert told.startswith("r.csv:2: 7 columns, the first line has 4")
    assert "decimal points, or part the columns with semicolons" in told


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "there are no readings"),
        ("patch,L,a,b\n", "there are no readings below"),
        ("patch,L,u,v\nwhite,1,2,3", "the columns 'patch', 'l', 'u', 'v' are none"),
        ("white,70,0,0", "are none that are known"),
        ("patch,L,a,b\nwhite,nan,0,0", "'nan' is no number"),
        ("patch,L,a,b\nwhite,70,200,0", "out of range"),
        ("patch,R\nwhite,40\nblack,140", "out of range"),
        ("patch,R\nwhite,-0.1", "out of range"),
    ],
)
def test_what_is_wrong_is_told(text: str, what: str) -> None:
    assert what in "\n".join(faults(text))


@given(st.text(max_size=200))
def test_any_text_is_read_or_told(text: str) -> None:
    for some in (text, f"patch,L,a,b\n{text}", f"patch;R\n{text}"):
        try:
            found = read(some)
        except (PanelError, FaultList):
            continue
        assert set(found.lights) <= set(NAMES)
        assert all(np.isfinite(light.lab).all() for light in found.lights.values())

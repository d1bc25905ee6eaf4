"""Alert icons: what a warning is of, and how grave it is, without colour."""

from datetime import UTC, datetime
from itertools import combinations

import numpy as np
import pytest
from tests.golden import check_golden

from wallbill.blocks.drawing.grid import ACCENT, INK, PAPER, from_letters
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.icons.alerts import alert_grid, alert_icon, alert_words, check_severity
from wallbill.blocks.icons.signs import PENS
from wallbill.errors import SheetError
from wallbill.facts.alerts import Alert, Certainty, Severity, Urgency
from wallbill.facts.hazards import Hazard

COLOURS = ((222, 222, 214), (20, 20, 20), (180, 30, 30), (240, 240, 234), (128, 128, 128))


@pytest.mark.parametrize("size_px", PENS)
def test_no_two_warnings_look_the_same_without_colour(size_px: int) -> None:
    """All in one ink: a knock-out is the ground, the second ink is ink."""
    seen = {}
    for hazard in Hazard:
        for severity in Severity:
            codes = alert_grid(hazard, severity=severity, size_px=size_px).codes
            seen[hazard, severity] = np.isin(codes, [INK, ACCENT])
    for (one, a), (other, b) in combinations(seen.items(), 2):
        unlike = int((a != b).sum())
        assert unlike >= size_px // 2, (one, other)


@pytest.mark.parametrize("size_px", PENS)
def test_severity_shows_in_the_outline_alone(size_px: int) -> None:
    """However the picture inside may blur: the silhouettes differ from one another at their edge."""
    shapes = [alert_grid(Hazard.GENERAL, severity=s, size_px=size_px).drawn() for s in Severity]
    rim = np.ones((size_px, size_px), dtype=bool)
    inset = size_px // 5
    rim[inset:-inset, inset:-inset] = False
    for one, other in combinations(shapes, 2):
        assert ((one ^ other) & rim).sum() >= size_px


@pytest.mark.parametrize("size_px", PENS)
@pytest.mark.parametrize("severity", Severity)
def test_pictures_keep_clear_of_their_frames(size_px: int, severity: Severity) -> None:
    """At every place the picture lies within the frame's outer edge, at least a pixel from it."""
    frame = np.logical_and.reduce(
        [alert_grid(hazard, severity=severity, size_px=size_px).drawn() for hazard in Hazard]
    )
    for hazard in Hazard:
        grid = alert_grid(hazard, severity=severity, size_px=size_px)
        picture = (
            grid.mask(PAPER) if severity in {Severity.SEVERE, Severity.EXTREME} else grid.drawn() & ~frame
        )
        rows, columns = np.nonzero(picture)
        inset = PENS[size_px] + 1
        assert min(rows.min(), columns.min()) >= inset - 1
        assert max(rows.max(), columns.max()) < size_px - inset + 1
        if severity in {Severity.SEVERE, Severity.EXTREME}:
            near = np.pad(picture, 1)
            touching = near[:-2, 1:-1] | near[2:, 1:-1] | near[1:-1, :-2] | near[1:-1, 2:]
            assert not (touching & ~grid.drawn()).any()


@pytest.mark.parametrize("size_px", PENS)
@pytest.mark.parametrize("severity", Severity)
def test_frames_are_symmetric(size_px: int, severity: Severity) -> None:
    span = size_px - PENS[size_px] % 2
    drawn = alert_grid(Hazard.GENERAL, severity=severity, size_px=size_px).drawn()[:span, :span]
    assert np.array_equal(drawn, drawn[:, ::-1])


def test_the_graver_the_more_ink() -> None:
    order = (Severity.MINOR, Severity.SEVERE, Severity.EXTREME)
    for hazard in Hazard:
        amounts = [
            int(np.isin(alert_grid(hazard, severity=s, size_px=32).codes, [INK, ACCENT]).sum()) for s in order
        ]
        assert amounts == sorted(amounts)


def test_the_second_ink() -> None:
    for severity in Severity:
        grid = alert_grid(Hazard.WIND, severity=severity, size_px=48)
        wanted = severity in {Severity.MODERATE, Severity.SEVERE, Severity.EXTREME}
        assert grid.mask(ACCENT).any() == wanted
    one_ink = str(alert_icon(Hazard.WIND, severity=Severity.EXTREME, size_px=48, palette=Palette()))
    assert 'fill="#ffffff"' in one_ink
    assert 'fill="#000000"' in one_ink


def test_words() -> None:
    assert alert_words(Hazard.SNOW_ICE, Severity.SEVERE) == "severe warning: snow and ice"
    assert alert_words(Hazard.WIND, Severity.UNKNOWN) == "warning: wind"
    markup = str(alert_icon(Hazard.FOG, severity=Severity.MINOR, size_px=24, palette=Palette()))
    assert 'aria-label="minor warning: fog"' in markup
    assert 'aria-label="Fog"' in str(
        alert_icon(Hazard.FOG, severity=Severity.MINOR, size_px=24, palette=Palette(), title="Fog")
    )
    with pytest.raises(SheetError, match="no severity is called 'worst'") as caught:
        check_severity("worst")
    assert "extreme, severe, moderate, minor" in caught.value.mend
    assert check_severity("Severe") is Severity.SEVERE
    with pytest.raises(SheetError, match="at least 16"):
        alert_grid(Hazard.FOG, severity=Severity.MINOR, size_px=15)


def test_sizes_between() -> None:
    small = alert_grid(Hazard.FOG, severity=Severity.MINOR, size_px=24)
    assert alert_grid(Hazard.FOG, severity=Severity.MINOR, size_px=30) == small.placed((30, 30))


def test_an_alert_knows_its_family() -> None:
    moment = datetime(2026, 3, 27, 6, tzinfo=UTC)
    alert = Alert("1", "x", moment, "Orange warning", Severity.SEVERE, Urgency.FUTURE, Certainty.LIKELY, moment, None, moment)  # fmt: skip
    assert alert.hazard is Hazard.GENERAL


def test_a_small_warning_in_letters() -> None:
    assert alert_grid(Hazard.THUNDERSTORM, severity=Severity.MINOR, size_px=16) == from_letters("""
        .....#####......
        ...##.....##....
        ..#.........#...
        .#.....###...#..
        .#....###....#..
        #....###......#.
        #....##.......#.
        #...######....#.
        #.....###.....#.
        #.....##......#.
        .#...##......#..
        .#...#.......#..
        ..#.........#...
        ...##.....##....
        .....#####......
        ................
    """)


@pytest.mark.parametrize("size_px", PENS)
@pytest.mark.parametrize("part", range(2))
def test_the_warnings_look_as_accepted(size_px: int, part: int) -> None:
    hazards = tuple(Hazard)[part::2][: 7 if size_px < 96 else 3]
    rows = [[alert_grid(h, severity=s, size_px=size_px).codes for h in hazards] for s in Severity]
    codes = np.concatenate([np.concatenate(row, axis=1) for row in rows], axis=0)
    check_golden(f"alerts-{size_px}-{part}", codes, COLOURS)

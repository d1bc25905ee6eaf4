"""Countries: every code of ISO 3166-1 that a map can show, in the right place, also across 180 degrees."""

from dataclasses import replace

import numpy as np
import pytest
from babel import Locale
from matplotlib.path import Path
from tests.blocks.maps.test_coast import COAST

from wallbill.blocks.drawing.grid import ACCENT, INK
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.maps.coast import cut
from wallbill.blocks.maps.ground import claimed
from wallbill.blocks.maps.raster import filled, land_of
from wallbill.blocks.maps.shell import load_coast
from wallbill.blocks.maps.spec import MapSpec
from wallbill.blocks.maps.travel import map_drawing
from wallbill.blocks.maps.view import view_of, world_view
from wallbill.errors import SheetError

RED = Palette(accent="#c80000")


def test_the_codes_are_those_of_iso_3166() -> None:
    # CLDR's territories of two letters are ISO 3166-1's and some of its own (Unicode CLDR, through Babel). Left out are
    # territories that Natural Earth counts with another at 1:50m, such as Guadeloupe, and those of few rocks.
    known = {code for code in map(str, Locale("en").territories) if len(code) == 2 and code.isalpha()}
    assert known >= COAST.countries
    assert len(COAST.countries) == 239
    left_out = known - COAST.countries
    assert left_out == {
        "AC", "BQ", "BV", "CC", "CP", "CQ", "CX", "DG", "EA", "EU", "EZ", "GF", "GP", "IC", "MQ", "QO", "RE",
        "SJ", "TA", "TK", "UN", "XA", "XB", "YT", "ZZ",
    }  # fmt: skip


# Capitals and their places, from any atlas.
@pytest.mark.parametrize(
    ("code", "longitude", "latitude"),
    [
        ("FR", 2.35, 48.85), ("GB", -0.13, 51.5), ("US", -77.04, 38.9), ("BR", -47.9, -15.8), ("ZA", 28.19, -25.75),
        ("AU", 149.1, -35.3), ("JP", 139.7, 35.7), ("IN", 77.2, 28.6), ("EG", 31.2, 30.05), ("RU", 37.6, 55.75),
        ("RU", 179.0, 67.0), ("RU", -175.5, 66.5), ("FJ", 178.0, -17.8), ("FJ", 179.3, -16.6), ("US", -150.0, 64.0),
        ("NZ", 174.8, -41.1), ("LS", 27.9, -29.5), ("MN", 106.9, 47.9), ("XK", 21.0, 42.6), ("AQ", 0.0, -85.0),
        ("AQ", 170.0, -85.0),
    ],
)  # fmt: skip
def test_a_country_is_where_it_is(code: str, longitude: float, latitude: float) -> None:
    view = view_of([(longitude, latitude)], size=(41, 41), margin_px=4, least_m=8000)
    assert claimed(COAST, (code,), view)[20, 20]
    others = tuple(sorted(COAST.countries - {code}))
    assert not filled(cut(COAST.outline(frozenset(others))), view)[20, 20]


def test_all_countries_together_are_the_land() -> None:
    view = world_view(size=(800, 400), margin_px=4)
    land = land_of(COAST, view)
    every = claimed(COAST, tuple(sorted(COAST.bounds)), view) & land
    assert every.sum() / land.sum() > 0.985


def test_areas_of_countries() -> None:
    # Areas in thousands of square kilometres: The World Factbook, from memory; on an equal-area map, with the land's
    # share of the globe's pixels (4 pi R^2 = 510 million square kilometres).
    view = world_view(size=(1600, 800), margin_px=4)
    globe_px = 2 * np.pi / np.pi * 2 * view.px_per_radius**2 * np.pi
    for code, area in (("BR", 8515), ("AU", 7741), ("FR", 644), ("EG", 1001), ("ZA", 1219), ("RU", 17098)):
        pixels = np.count_nonzero(claimed(COAST, (code,), view) & land_of(COAST, view))
        assert pixels / globe_px * 510_072 == pytest.approx(area, rel=0.03), code


def test_borders_run_once_between_two_countries() -> None:
    spain = COAST.between(frozenset({"ES", "PT"}))
    assert len(spain.boxes) >= 1
    assert not len(COAST.between(frozenset({"ES", "JP"})).boxes)
    assert len(COAST.borders.boxes) > 300


def test_a_country_across_180_degrees_is_drawn_without_a_seam() -> None:
    view = view_of([(170, 66), (-170, 67)], size=(300, 200), margin_px=10)
    land = land_of(COAST, view) & claimed(COAST, ("RU",), view)
    seam = int(view.points(np.array([view.near(np.array([180.0]))[0]]), np.array([67.5]))[0][0])
    row = int(view.points(np.array([180.0]), np.array([67.5]))[1][0])
    assert land[row, seam - 4 : seam + 5].all()


@pytest.mark.parametrize(("palette", "code"), [(RED, ACCENT), (Palette(), INK)])
def test_visited_countries_are_filled_in_the_second_ink_where_there_is_one(
    palette: Palette, code: int
) -> None:
    spec = MapSpec(300, 200, coast=COAST, countries=("it", "CH"), sea="plain")  # type: ignore[arg-type]  # a sheet writes words
    drawing = map_drawing((), spec=spec, palette=palette)
    assert spec.countries == ("IT", "CH")
    without = map_drawing((), spec=replace(spec, tint="none"), palette=palette)
    assert (drawing.grid.codes == code).sum() > (without.grid.codes == code).sum() + 1500


def test_a_country_too_small_to_be_seen_is_marked_by_a_dot() -> None:
    spec = MapSpec(400, 220, coast=COAST, countries=("MT",), extent="world")  # type: ignore[arg-type]  # a sheet writes words
    drawing = map_drawing((), spec=spec, palette=RED)
    assert 12 <= (drawing.grid.codes == ACCENT).sum() <= 40


def test_an_unknown_country_is_told() -> None:
    with pytest.raises(SheetError, match="'UK'") as told:
        MapSpec(300, 200, coast=COAST, countries=("UK",))
    assert "ISO 3166-1" in told.value.mend


def test_a_part_of_another_country_is_told() -> None:
    with pytest.raises(SheetError, match="'RE'") as told:
        MapSpec(300, 200, coast=COAST, countries=("RE",))
    assert "FR" in told.value.mend


def test_outlines_agree_with_another_librarys_polygons() -> None:
    # Samples of the outline of Lesotho, which is one ring: inside by matplotlib's path and by our filling.
    arcs = COAST.outline(frozenset({"LS"}))
    ring = Path(arcs.places)
    view = view_of(arcs.places, size=(200, 160), margin_px=8)
    mask = filled(cut(arcs), view)
    rows, columns = np.mgrid[2:158:7, 2:198:7]
    west, north = view.centre[0], view.centre[1]
    assert view.projection.wraps
    per_px = np.degrees(1 / view.px_per_radius)
    longitude = (
        west
        + np.degrees(view.middle[0] / np.cos(np.radians(north)))
        + (columns + 0.5 - 100) * per_px / np.cos(np.radians(north))
    )
    latitude = np.degrees(view.middle[1]) - (rows + 0.5 - 80) * per_px
    agree = mask[rows, columns] == ring.contains_points(
        np.column_stack([longitude.ravel(), latitude.ravel()])
    ).reshape(rows.shape)
    assert agree.mean() > 0.995


@pytest.mark.parametrize(
    ("code", "inside_deg"),
    [  # west, south, east, north of the main parts, by an atlas, from memory
        ("FR", (-6, 41, 10, 52)),
        ("PT", (-10, 36, -6, 43)),
        ("ES", (-10, 35, 5, 44)),
        ("EC", (-82, -6, -75, 2)),
    ],
)
def test_far_off_parts_of_a_country_do_not_stretch_a_map(
    code: str, inside_deg: tuple[float, float, float, float]
) -> None:
    boxes = load_coast().mainland(code).boxes
    west, south, east, north = inside_deg
    assert boxes[:, 0].min() > west
    assert boxes[:, 1].min() > south
    assert boxes[:, 2].max() < east
    assert boxes[:, 3].max() < north


def test_islands_and_both_sides_of_180_degrees_belong_to_their_country() -> None:
    coast = load_coast()
    for code in ("NZ", "FJ", "ID", "PL"):
        assert len(coast.mainland(code).boxes) > 1
    fiji = coast.mainland("FJ").boxes
    assert fiji[:, 2].max() > 179
    assert fiji[:, 0].min() < -178

"""The link table: what it asks of the panel, what it keeps, when it is made anew."""

import numpy as np
import pytest

from tests.inks import typical
from wallbill.inks import colour, gamut
from wallbill.inks.inkset import ink_set
from wallbill.panels.model import Panel

PANELS = (typical.BW, typical.BWR, typical.BWRY, typical.SIX, typical.SEVEN)


class Shelf:
    """A keep in memory that counts."""

    def __init__(self) -> None:
        self.kept: dict[str, bytes] = {}
        self.puts = 0

    def get(self, key: str) -> bytes | None:
        return self.kept.get(key)

    def put(self, key: str, data: bytes) -> None:
        self.puts += 1
        self.kept[key] = data


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
def test_greys_need_black_and_white_only(panel: Panel) -> None:
    inks = ink_set(panel.inks)
    greys = np.repeat(np.linspace(0, 1, 64)[:, None], 3, axis=1)
    shares = gamut.picture_coverages(colour.srgb_to_linear(greys), inks)
    coloured = [place for place in range(len(panel.inks)) if place not in {inks.black, inks.white}]
    assert shares[:, coloured].sum(axis=1).max() < 1e-5
    assert shares[0, inks.black] == pytest.approx(1)
    assert shares[-1, inks.white] == pytest.approx(1)
    assert (np.diff(shares[:, inks.white]) > 0).all()


def test_lightness_runs_from_black_to_white_as_shown() -> None:
    inks = ink_set(typical.BW.inks)
    got = gamut.fitted(np.array(((0.0, 0, 0), (1, 1, 1))), inks)
    np.testing.assert_allclose(got, colour.lms_to_oklab(inks.shown[[0, 1]]), atol=1e-6)


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
def test_a_table_is_monotone_and_sealed(panel: Panel) -> None:
    tables = gamut.make_tables(ink_set(panel.inks))
    assert tables.cumulative.shape == (len(panel.inks) - 1, 33, 33, 33)
    assert (np.diff(tables.cumulative.astype(int), axis=0) >= 0).all()
    assert not tables.cumulative.flags.writeable


def test_a_kept_table_is_used_again_and_a_damaged_one_is_not() -> None:
    shelf, inks = Shelf(), ink_set(typical.BWR.inks)
    first = gamut.tables_for(inks, keep=shelf)
    again = gamut.tables_for(inks, keep=shelf)
    assert shelf.puts == 1
    np.testing.assert_array_equal(first.cumulative, again.cumulative)
    (name,) = shelf.kept
    for damaged in (b"", shelf.kept[name][:500], b"x" * 900, shelf.kept[name][:64] + b"junk"):
        shelf.kept[name] = damaged
        np.testing.assert_array_equal(gamut.tables_for(inks, keep=shelf).cumulative, first.cumulative)
    assert shelf.puts == 5


def test_other_inks_or_another_n_have_another_key() -> None:
    keys = {ink_set(p.inks, n=n).key for p in PANELS for n in (1.0, 1.5)}
    assert len(keys) == 2 * len(PANELS)


def test_dot_gain_takes_dots_away() -> None:
    """Yule and Nielsen's n makes a tint darker than its coverage, so less black gives the same grey."""
    grey = np.full((1, 3), 0.3)
    plain = gamut.picture_coverages(grey, ink_set(typical.BW.inks))[0, 0]
    gained = gamut.picture_coverages(grey, ink_set(typical.BW.inks, n=1.5))[0, 0]
    assert gained < plain - 0.05


def test_n_below_one_is_refused() -> None:
    with pytest.raises(ValueError, match="1 or more"):
        ink_set(typical.BW.inks, n=0.5)


def test_greys_as_inks_mix_with_their_neighbours_only() -> None:
    """Inks on one line give many mixes of one light; dots of neighbouring greys are the calmest."""
    inks = ink_set(tuple(typical.GREYS[place] for place in (0, 5, 10, 15)))
    shares = gamut.picture_coverages(
        colour.srgb_to_linear(np.repeat(np.linspace(0, 1, 50)[:, None], 3, 1)), inks
    )
    for row in shares[:, list(inks.order)]:
        used = np.flatnonzero(row > 1e-6)
        assert len(used) <= 2
        assert np.ptp(used) <= 1


def test_a_picture_on_a_panel_with_grey_inks_uses_them() -> None:
    """Black and white have a tinge of their own; the greys between them need not lie on the line of both."""
    inks = ink_set((typical.BLACK, typical.GREYS[5], typical.GREYS[10], typical.WHITE))
    greys = np.repeat(np.linspace(0, 1, 50)[:, None], 3, axis=1)
    shares = gamut.picture_coverages(colour.srgb_to_linear(greys), inks)
    assert (shares[20:30, 1:3].sum(axis=1) > 0.9).all()

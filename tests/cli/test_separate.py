"""``wallbill separate``: any picture, every kind of file, and what cannot be read."""

import io
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from wallbill.cli.main import run
from wallbill.panels.shell import load_panels

PANEL = "2.9in-296x128-black-white"
COLOUR = "4.2in-400x300-black-white-yellow"
WIDTH_PX, HEIGHT_PX = 296, 128

Codes = NDArray[np.uint8]


@pytest.fixture(autouse=True)
def _cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))


def slopes(width_px: int = 592, height_px: int = 256) -> Image.Image:
    """From black at the left to white at the right; the colours part from top to bottom."""
    y, x = np.mgrid[0:height_px, 0:width_px]
    grey = x * 255 // (width_px - 1)
    rgb = np.stack([grey, grey * (height_px - y // 2) // height_px, grey], axis=2)
    return Image.fromarray(rgb.astype(np.uint8))


def saved(image: Image.Image, kind: str, **how: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def separated(tmp_path: Path, data: bytes, *more: str, panel: str = PANEL, out: str = "out.png") -> Path:
    (tmp_path / "in").write_bytes(data)
    target = tmp_path / out
    assert run(["separate", str(tmp_path / "in"), "--panel", panel, "--out", str(target), *more]) == 0
    return target


def codes(path: Path) -> Codes:
    """Palette indices: 1 is white on the panel of two inks."""
    with Image.open(path) as image:
        assert image.mode in {"1", "P"}  # Pillow takes a BMP of black and white for a bitmap
        return np.asarray(image, dtype=np.uint8)


def photo(kind: str, **how: object) -> Callable[[], bytes]:
    return lambda: saved(slopes(), kind, **how)


def transparent() -> bytes:
    """Black ink on nothing: what is seen through is paper."""
    image = Image.new("RGBA", (WIDTH_PX, HEIGHT_PX), (0, 0, 0, 0))
    image.paste((0, 0, 0, 255), (0, 0, 100, HEIGHT_PX))
    return saved(image, "PNG")


def sixteen_bits() -> bytes:
    x = np.broadcast_to(np.linspace(0, 65535, 592).astype(np.uint16), (256, 592))
    return saved(Image.fromarray(np.ascontiguousarray(x)), "PNG")


def animated() -> bytes:
    frames = [slopes(), Image.new("RGB", (592, 256), "black")]
    return saved(frames[0], "GIF", save_all=True, append_images=frames[1:], duration=100)


@pytest.mark.parametrize(
    "make",
    [
        photo("PNG"), photo("JPEG", quality=90), photo("WEBP", lossless=True), photo("BMP"), photo("TIFF"),
        photo("GIF"), lambda: saved(slopes().convert("CMYK"), "JPEG", quality=95), sixteen_bits, animated,
        lambda: saved(slopes().convert("L"), "PNG"), lambda: saved(slopes().convert("P"), "PNG"),
    ],
)  # fmt: skip
def test_every_kind_of_picture(tmp_path: Path, make: Callable[[], bytes]) -> None:
    """The slope from black to white comes out as ever more white dots, whatever held it."""
    found = codes(separated(tmp_path, make()))
    assert found.shape == (HEIGHT_PX, WIDTH_PX)
    steps = found[:, :280].reshape(HEIGHT_PX, 4, 70).mean(axis=(0, 2))
    assert steps[0] < 0.15
    assert (np.diff(steps) > 0.02).all()
    assert found[:, -8:].mean() > 0.6


def test_what_is_seen_through_is_paper(tmp_path: Path) -> None:
    found = codes(separated(tmp_path, transparent(), "--line"))
    assert not found[:, :100].any()
    assert found[:, 100:].all()


def test_a_photograph_is_turned_upright(tmp_path: Path) -> None:
    """Exif orientation 6: to be turned a quarter clockwise. Source: Exif 2.3, tag 0x0112, from memory."""
    upright = Image.new("L", (WIDTH_PX, HEIGHT_PX), 255)
    upright.paste(0, (0, 0, WIDTH_PX, 32))
    exif = Image.Exif()
    exif[0x0112] = 6
    data = saved(upright.transpose(Image.Transpose.ROTATE_90), "JPEG", exif=exif, quality=95)
    found = codes(separated(tmp_path, data))
    assert found[:28].mean() < 0.02
    assert found[36:].mean() > 0.98


@pytest.mark.parametrize(("colour", "code"), [("black", 0), ("white", 1)])
def test_one_pixel(tmp_path: Path, *, colour: str, code: int) -> None:
    found = codes(separated(tmp_path, saved(Image.new("RGB", (1, 1), colour), "PNG"), "--line"))
    assert (found == code).all()


def test_line_work_keeps_hard_edges(tmp_path: Path) -> None:
    """A smoothed disc: as line work each row goes in and out of it once; as a photograph its edge is dotted."""
    disc = Image.new("L", (WIDTH_PX * 8, HEIGHT_PX * 8), 255)
    ImageDraw.Draw(disc).ellipse((400, 100, 1200, 900), fill=0)
    data = saved(disc.resize((WIDTH_PX, HEIGHT_PX), Image.Resampling.BOX), "PNG")
    found = codes(separated(tmp_path, data, "--line")).astype(int)
    assert set((np.diff(found, axis=1) != 0).sum(axis=1)) == {0, 2}
    assert int((found == 0).sum()) == pytest.approx(np.pi * 50**2, rel=0.01)
    dotted = codes(separated(tmp_path, data)).astype(int)
    assert ((np.diff(dotted, axis=1) != 0).sum(axis=1) > 2).any()


def test_dots_are_laid_in_the_way_that_is_asked_for(tmp_path: Path) -> None:
    ways = {
        way: codes(separated(tmp_path, photo("PNG")(), "--way", way)) for way in ("fine", "quick", "diffused")
    }
    fine, quick, diffused = ways.values()
    assert (fine == codes(separated(tmp_path, photo("PNG")()))).all()
    assert (quick != fine).mean() > 0.05
    assert (diffused != fine).mean() > 0.02
    steps = [found.reshape(HEIGHT_PX, 8, -1).mean(axis=(0, 2)) for found in ways.values()]
    np.testing.assert_allclose(steps[1], steps[0], atol=0.02)  # the tone is the same
    np.testing.assert_allclose(steps[2], steps[0], atol=0.02)


def test_greys_are_mixed_of_colours_if_asked_for(tmp_path: Path) -> None:
    panel = "7.3in-800x480-six-inks"
    grey = saved(Image.fromarray(np.tile(np.arange(256, dtype=np.uint8), (64, 1))), "PNG")
    plain, mixed = (
        codes(separated(tmp_path, grey, "--neutrals", neutrals, "--way", "quick", panel=panel))
        for neutrals in ("plain", "mixed")
    )
    assert len(np.unique(plain)) == 2
    assert len(np.unique(mixed)) > 2


def test_a_dull_picture_is_cleared_but_not_its_paper(tmp_path: Path) -> None:
    dull = saved(slopes().point(lambda code: 60 + code // 3), "PNG")
    as_is, clear = (codes(separated(tmp_path, dull, "--tone", tone)) for tone in ("as-is", "clear"))
    assert clear[:, -40:].mean() > as_is[:, -40:].mean() + 0.1
    square = saved(slopes(90, 90).point(lambda code: 60 + code // 3), "PNG")
    whole = codes(separated(tmp_path, square, "--tone", "clear", "--fit", "contain"))
    assert whole[:, : (WIDTH_PX - HEIGHT_PX) // 2].all()


def test_cover_and_contain(tmp_path: Path) -> None:
    """A black square fills the panel, or stands whole on white."""
    square = saved(Image.new("RGB", (90, 90), "black"), "PNG")
    assert not codes(separated(tmp_path, square, "--line")).any()
    whole = codes(separated(tmp_path, square, "--line", "--fit", "contain"))
    assert int((whole == 0).sum()) == HEIGHT_PX * HEIGHT_PX
    assert whole[:, : (WIDTH_PX - HEIGHT_PX) // 2].all()


def test_every_kind_of_file_holds_the_same_pixels(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """PNG, BMP and PBM as Pillow reads them; the plates as the reference of commands lays them out."""
    data = saved(slopes(), "PNG")
    wanted = codes(separated(tmp_path, data))
    assert (codes(separated(tmp_path, data, out="deep/er/out.bmp")) == wanted).all()
    with Image.open(separated(tmp_path, data, out="out.pbm")) as image:
        assert (np.asarray(image.convert("L")) == wanted * 255).all()
    plates = np.frombuffer(separated(tmp_path, data, out="out.plates").read_bytes(), dtype=np.uint8)
    bits = np.unpackbits(plates.reshape(2, HEIGHT_PX, WIDTH_PX // 8), axis=2)
    assert (bits[1] == wanted).all()
    assert (bits[0] == 1 - wanted).all()
    capsys.readouterr()


def test_the_record_and_the_proof(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    proof = tmp_path / "proofs" / "proof.png"
    out = separated(tmp_path, saved(slopes(), "PNG"), "--json", "--proof", str(proof), panel=COLOUR)
    told = json.loads(capsys.readouterr().out)
    assert told["panel"] == COLOUR
    assert told["file"] == str(out)
    assert len(told["digest"]) == 64
    with Image.open(proof) as image:
        assert image.size > (400, 300)
    with Image.open(out) as image:
        palette = image.getpalette()
    assert palette is not None
    inks = load_panels()[COLOUR].inks
    assert tuple(palette[: 3 * len(inks)]) == tuple(part for ink in inks for part in ink.css)


def test_the_same_picture_gives_the_same_bytes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = separated(tmp_path, saved(slopes(), "PNG"), panel=COLOUR).read_bytes()
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cold"))
    assert separated(tmp_path, saved(slopes(), "PNG"), panel=COLOUR).read_bytes() == first


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (saved(slopes(), "PNG")[:500], "damaged or cut short"),
        (saved(slopes(), "JPEG")[:900], "damaged or cut short"),
        (b"a letter", "not a picture that can be read"),
        (b"", "not a picture that can be read"),
        (saved(Image.new("1", (20_000, 300)), "PNG"), "too large"),
    ],
)
def test_what_is_no_picture(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], *, data: bytes, words: str
) -> None:
    (tmp_path / "in.png").write_bytes(data)
    out = tmp_path / "out.png"
    out.write_bytes(b"the last good one")
    assert run(["separate", str(tmp_path / "in.png"), "--panel", PANEL, "--out", str(out)]) == 1
    said = capsys.readouterr().err
    assert f"{tmp_path / 'in.png'}: {words}" in said
    assert "mend: " in said
    assert out.read_bytes() == b"the last good one"


@pytest.mark.parametrize(
    ("arguments", "status", "words"),
    [
        (("none.png", "--panel", PANEL, "--out", "out.png"), 1, "none.png: cannot be read: No such file"),
        (("in.png", "--panel", PANEL, "--out", "out.jpg"), 2, "it must end in .png, .bmp, .pbm, .plates"),
        (("in.png", "--panel", "2.9in", "--out", "out.png"), 1, "no panel '2.9in'"),
        (("in.png", "--panel", PANEL, "--out", "in.png/out.png"), 1, "in.png: there is a file of this name"),
        (("in.png", "--panel", PANEL, "--out", "out.png", "--wall", "nowhere"), 1, "there is no folder 'nowhere'"),
        ((".", "--panel", PANEL, "--out", "out.png"), 2, "is a directory"),
        (("/dev/zero", "--panel", PANEL, "--out", "out.png"), 1, "/dev/zero: the file has more than"),
    ],
)  # fmt: skip
def test_how_it_cannot_be_called(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    arguments: tuple[str, ...], status: int, words: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    (tmp_path / "in.png").write_bytes(saved(slopes(9, 9), "PNG"))
    assert run(["separate", *arguments]) == status
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out.png").exists()

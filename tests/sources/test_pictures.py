"""Albums: a folder of the wall, one picture of the web, captions and dates."""

import io
import json
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ExifTags, Image
from tests.sources.web_server import Web, plain, web
from tests.sources.world_bench import context

from wallbill.errors import Place, SourceError
from wallbill.facts.album import Album, Shot, turn
from wallbill.facts.plain import plain_fact
from wallbill.facts.supply import Supplied
from wallbill.sources.fetching import Limits
from wallbill.sources.pictures import in_turn, parse, picture_details
from wallbill.sources.shell import Gathering, gather
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.spec import SourceSpec

NOW = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")


def image(kind: str = "JPEG", caption: str = "", taken: str = "", size: tuple[int, int] = (8, 6)) -> bytes:
    out = io.BytesIO()
    exif = Image.Exif()
    if caption:
        exif[ExifTags.Base.ImageDescription] = caption.encode()  # as cameras write it, whatever Exif says
    if taken:
        exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = taken
    Image.new("RGB", size, (200, 40, 40)).save(
        out, kind, **({"exif": exif} if kind in {"JPEG", "PNG", "WEBP"} else {})
    )
    return out.getvalue()


@dataclass
class Bench:
    web: Web
    keeper: Keeper
    wall: Gathering
    now: datetime = field(default=NOW)

    def get(self, *, offline: bool = False, **options: Any) -> Supplied:
        told = {"private_hosts": ["localhost"], **options}
        spec = SourceSpec("garden", "pictures", told, timedelta(hours=1), None, Place("wall.toml", 5))
        given = gather([spec], self.wall, keeper=self.keeper, offline=offline, clock=lambda: self.now)
        return given.sources["garden"]

    def album(self, **options: Any) -> Album:
        given = self.get(**options)
        assert isinstance(given.fact, Album), given.trouble
        return given.fact


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    (tmp_path / "pictures" / "garden" / "spring").mkdir(parents=True)
    wall = Gathering(tmp_path, LONDON, 50.31, -4.05, "en-GB", limits=Limits(total_s=3.0), total_s=10.0)
    with web() as server, Keeper(tmp_path / "facts.sqlite") as keeper:
        yield Bench(server, keeper, wall)


def test_days_take_their_turn_through_a_folder(bench: Bench) -> None:
    folder = bench.wall.folder / "pictures" / "garden"
    for name in ("b.jpg", "A.png", "spring/c.webp", "notes.txt", ".hidden.jpg", "film.mp4"):
        (folder / name).write_bytes(image())
    album = bench.album(folder="pictures/garden")
    assert album.names == ("garden/A.png", "garden/b.jpg", "garden/spring/c.webp")
    days = [album.on(date(2026, 3, 14) + timedelta(days=n)).name for n in range(6)]
    assert sorted(days[:3]) == sorted(album.names)
    assert days[:3] == days[3:]
    assert album.today(NOW).name == days[0]
    # Just before midnight in London it is the next day in Tokyo.
    late = datetime(2026, 3, 14, 23, 30, tzinfo=UTC)
    assert album.today(late, zone=LONDON).name == days[0]
    assert album.today(late, zone=ZoneInfo("Asia/Tokyo")).name == days[1]
    assert album.today(late.astimezone(ZoneInfo("Asia/Tokyo"))).name == days[1]


def test_captions_and_dates(bench: Bench) -> None:
    folder = bench.wall.folder / "pictures" / "garden"
    (folder / "a.jpg").write_bytes(image(caption="From the camera", taken="2024:05:06 07:08:09"))
    (folder / "b.jpg").write_bytes(image(caption="From the camera"))
    (folder / "b.txt").write_text("By the\n  quay ", encoding="utf-8")
    (folder / "c.jpg").write_bytes(b"no picture")
    (folder / "c.jpg.txt").write_text("Broken", encoding="utf-8")
    shots = {shot.name: shot for shot in bench.album(folder="pictures/garden").shown}
    assert shots["garden/a.jpg"] == Shot("garden/a.jpg", "From the camera", date(2024, 5, 6))
    assert shots["garden/b.jpg"] == Shot("garden/b.jpg", "By the quay")
    assert shots["garden/c.jpg"].caption == "Broken"


def test_mixed_order_is_always_the_same() -> None:
    names = [f"{n}.jpg" for n in range(50)]
    mixed = in_turn(names, "mixed")
    assert mixed != in_turn(names, "name")
    assert mixed == in_turn(reversed(names), "mixed")
    assert sorted(mixed) == sorted(names)


def test_only_those_shown_soon_are_looked_into(bench: Bench) -> None:
    folder = bench.wall.folder / "pictures" / "garden"
    for n in range(40):
        (folder / f"{n:02d}.jpg").write_bytes(image(caption=f"number {n}"))
    album = bench.album(folder="pictures/garden")
    assert len(album.names) == 40
    assert len(album.shown) == 9
    assert album.today(NOW).caption.startswith("number ")
    assert album.on(date(2026, 8, 1)).caption == ""


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"folder": "pictures/nowhere"}, "no folder"),
        ({"folder": "pictures/garden"}, "no picture in the folder"),
        ({"folder": "facts"}, "outside the wall's pictures"),
        ({"folder": "pictures/../../.."}, "outside the wall's pictures"),
        ({"folder": "\0"}, "no folder"),
    ],
)
def test_wrong_folders_are_told(bench: Bench, options: dict[str, Any], told: str) -> None:
    given = bench.get(**options)
    assert given.fact is None
    assert told in str(given.trouble)
    assert given.trouble is not None
    assert given.trouble.mend


def test_a_link_that_leads_out_is_left_aside(bench: Bench, tmp_path_factory: pytest.TempPathFactory) -> None:
    outside = tmp_path_factory.mktemp("outside") / "secret.jpg"
    outside.write_bytes(image())
    folder = bench.wall.folder / "pictures" / "garden"
    (folder / "out.jpg").symlink_to(outside)
    (folder / "in.jpg").write_bytes(image())
    (folder / "again.jpg").symlink_to(folder / "in.jpg")
    assert bench.album(folder="pictures/garden").names == ("garden/again.jpg", "garden/in.jpg")


def test_one_picture_of_the_web(bench: Bench) -> None:
    body = image("PNG", caption="Über dem Hafen")
    bench.web.pages["/cam"] = plain(body, content_type="image/png")
    album = bench.album(url=bench.web.url("/cam"))
    shot = album.today(NOW)
    assert (shot.name, shot.data) == ("garden.png", body)
    assert shot.caption == "Über dem Hafen"
    assert (
        bench.album(url=bench.web.url("/cam"), caption="The harbour now").today(NOW).caption
        == "The harbour now"
    )
    told = plain_fact(album)
    assert isinstance(told, dict)
    assert f"'data': '{len(body)} bytes'" in str(told)
    bench.now += timedelta(hours=3)
    bench.web.pages["/cam"] = plain(b"<html>log in</html>")
    later = bench.get(url=bench.web.url("/cam"))
    assert "web page came in place of a picture" in str(later.trouble)
    assert isinstance(later.fact, Album)
    assert later.fact.today(NOW).data == body


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "GIF", "WEBP", "BMP", "TIFF"])
def test_formats(kind: str) -> None:
    suffix, _ = picture_details(image(kind), "it")
    assert suffix in {"jpg", "png", "gif", "webp", "bmp", "tif"}


@pytest.mark.parametrize(
    "data", [b"", b"  ", b"<html>", b"\xff\xd8\xff", b"GIF89a", b"%PDF-1.7", b"BM" + b"\0" * 60]
)
def test_what_is_no_picture_is_refused(data: bytes) -> None:
    with pytest.raises(SourceError):
        parse(data, context("pictures"))


def test_a_picture_beyond_all_measure_is_refused_unread() -> None:
    small = bytearray(image("PNG"))
    small[16:24] = (60_000).to_bytes(4, "big") * 2
    small[29:33] = zlib.crc32(bytes(small[12:29])).to_bytes(4, "big")
    with pytest.raises(SourceError, match="pixels"):
        picture_details(bytes(small), "it")


@given(st.binary(max_size=300), st.integers(0, 200))
def test_no_bytes_raise_anything_else(data: bytes, at: int) -> None:
    whole = image(caption="x", taken="2024:01:02 03:04:05")
    for body in (data, whole[:at] + data + whole[at:], whole[: at * 3]):
        for options in ({}, {"folder": "x"}):
            with suppress(SourceError):
                parse(body, context("pictures", options=options))


@given(st.dates(), st.integers(1, 1000))
def test_each_has_its_turn_once_in_a_round(day: date, count: int) -> None:
    assert 0 <= turn(day, count) < count
    if day < date.max:
        assert turn(day + timedelta(days=1), count) == (turn(day, count) + 1) % count


def test_a_listing_that_is_none_is_refused() -> None:
    for body in (b"[]", b"{}", json.dumps({"names": 1, "details": {}}).encode(), b"{"):
        with pytest.raises(SourceError):
            parse(body, context("pictures", options={"folder": "x"}))

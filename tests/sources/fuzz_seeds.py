"""What the fuzzing of parsers begins with: for each parser payloads that it reads, and the options that go with them."""

import io
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from google.transit import gtfs_realtime_pb2 as wire
from PIL import ExifTags, Image
from tests.sources.world_bench import PAYLOADS, tables, zipped

from wallbill.errors import Place
from wallbill.sources.departures import drawn, with_news
from wallbill.sources.mqtt_messages import heard, packed
from wallbill.sources.own_values import reply_of
from wallbill.sources.spec import ParseContext, SourceSpec
from wallbill.sources.sql import packed_rows

NOW = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
_EXAMPLE = Path(__file__).parents[2] / "examples" / "fennel-quay" / "payloads"


@dataclass(frozen=True, slots=True)
class Seed:
    """A payload and the options of its source."""

    data: bytes = field(repr=False)
    options: dict[str, Any]

    def context(self, parser: str) -> ParseContext:
        """What the parser of that name knows beside it."""
        kind, _, service = parser.partition(" ")
        options = {**self.options, **({"service": service} if service else {})}
        spec = SourceSpec("it", kind, options, None, None, Place("wall.toml", 7))
        return ParseContext(spec, ZoneInfo("Europe/London"), 50.31, -4.05, NOW, NOW, "en-GB")


def seeds(parser: str) -> tuple[Seed, ...]:
    """The seeds of a parser, by its name in the table of readers. KeyError: a parser is new and has none yet."""
    return tuple(_SEEDS[parser]())


def _files(*names: str, **options: Any) -> Iterator[Seed]:
    for name in names:
        path = next(path for folder in (PAYLOADS, _EXAMPLE) if (path := folder / name).exists())
        yield Seed(path.read_bytes(), options)


def _series() -> Iterator[Seed]:
    column = {"air": {"column": "temperature_c", "unit": "°C"}, "volts": {"column": "battery_v", "unit": "V"}}
    for seed in _files("readings.csv", columns=column, gap_after="1 h"):
        yield Seed(b"\n".join(seed.data.splitlines()[:60]), seed.options)
    table = b"when;temp\n14.03.2026 05:00;4,5\n14.03.2026 06:00;-0,25\n29.03.2026 02:30;\n"
    german = {
        "delimiter": ";",
        "decimal": ",",
        "time": "when",
        "time_format": "%d.%m.%Y %H:%M",
        "encoding": "cp1252",
    }
    yield Seed(table, {"columns": {"air": {"column": "temp", "unit": "°C"}}, **german})


def _observation() -> Iterator[Seed]:
    yield from _files("metar.txt", station="ZZLL")
    yield from _files("metar.txt", station="ZZLH")
    yield from _files("field.metar.txt", station="ZZFQ")


def _own() -> Iterator[Seed]:
    value = {"a": [1, 2.5, None, True, "x"], "at": NOW, "day": NOW.date()}
    yield Seed(reply_of(value, zone=UTC), {"function": "rota:who"})
    fault = {"what": "it broke", "file": "facts/rota.py", "line": 3, "mend": "Mend it."}
    yield Seed(json.dumps({"fault": fault}).encode(), {"function": "rota:who"})


def _departures() -> Iterator[Seed]:
    options = {"stop": "QUAY", "realtime": "x"}
    spec = Seed(b"", options).context("departures").spec
    whole = zipped(tables())
    kept = drawn(whole, spec)
    news = wire.FeedMessage()
    news.header.gtfs_realtime_version = "2.0"
    news.header.timestamp = int(NOW.timestamp())
    for number, (trip, relation) in enumerate((("T2", 0), ("T3", 3), ("X", 1))):
        update = news.entity.add(id=str(number)).trip_update
        update.trip.trip_id, update.trip.start_date, update.trip.schedule_relationship = (
            trip,
            "20260314",
            relation,
        )
        for stop in (1, 2):
            call = update.stop_time_update.add(stop_sequence=stop, stop_id="QUAY1")
            call.departure.time = int(NOW.timestamp()) + stop * 60
            call.departure.delay = 60
    yield Seed(whole, options)
    yield Seed(kept, options)
    yield Seed(with_news(kept, news.SerializeToString()), options)


def _pictures() -> Iterator[Seed]:
    for kind in ("JPEG", "PNG", "WEBP", "TIFF", "GIF", "BMP"):
        out = io.BytesIO()
        exif = Image.Exif()
        exif[ExifTags.Base.ImageDescription] = "By the quay"
        exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = "2024:05:06 07:08:09"
        image = Image.new("RGB", (9, 7), (200, 30, 30))
        image.save(out, kind, **({"exif": exif} if kind in {"JPEG", "PNG", "WEBP"} else {}))
        yield Seed(out.getvalue(), {})
    listing = {"names": ["a.jpg", "b.png"], "details": {"a.jpg": {"caption": "A", "taken": "2024-05-06"}}}
    yield Seed(json.dumps(listing).encode(), {"folder": "pictures"})


def _mqtt() -> Iterator[Seed]:
    told = (
        heard("house/air", b"21.5", retained=True, at=NOW),
        heard("house/lamp", b'{"state": "ON", "t": {"v": 3}}', retained=False, at=NOW),
        heard("house/rooms/loft", b"14,5 C", retained=False, at=NOW),
        heard("house/empty", b"", retained=True, at=NOW),
    )
    values = {
        "air": {"topic": "house/air", "unit": "°C"},
        "lamp": {"topic": "house/lamp", "pick": "state"},
        "rooms": {"topic": "house/rooms/+", "unit": "°C"},
    }
    yield Seed(packed(told), {"broker": "localhost", "values": values})


def _json() -> Iterator[Seed]:
    body = {"tank": {"level": "71.5 %", "at": "2026-03-14T06:00:00Z", "pump": "on"}, "t": [1, 2.5, None]}
    values = {
        "level": {"pick": "tank.level", "unit": "%", "time": "tank.at"},
        "pump": {"pick": "tank.pump"},
        "last": {"pick": "t[-1]", "unit": "°C"},
    }
    yield Seed(json.dumps(body).encode(), {"values": values})
    rows = {"rows": [{"at": f"2026-03-14T0{n}:00:00Z", "v": n / 2} for n in range(6)]}
    options = {"rows": "rows", "time": "at", "values": {"v": {"pick": "v", "unit": "°C"}}}
    yield Seed(json.dumps(rows).encode(), options)


def _sql() -> Iterator[Seed]:
    rows = [[f"2026-03-14T0{n}:00:00+00:00", n / 2] for n in range(6)]
    air = {"air": {"column": "temp", "unit": "°C"}}
    options = {"file": "x.sqlite", "query": "SELECT at, temp FROM t", "columns": air}
    yield Seed(packed_rows(["at", "temp"], rows, cut=False), {**options, "time": "at"})
    yield Seed(packed_rows(["at", "temp"], rows[:1], cut=False), options)


def _sky() -> Iterator[Seed]:
    yield Seed(b"", {})


def _holidays() -> Iterator[Seed]:
    yield Seed(b"", {"country": "GB"})


_CALENDAR = b"""BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Fennel Quay//EN\r\nBEGIN:VEVENT\r\nUID:a\r
DTSTAMP:20260101T000000Z\r\nDTSTART;TZID=Europe/London:20260314T180000\r\nDURATION:PT1H30M\r
RRULE:FREQ=WEEKLY;BYDAY=MO,SA;UNTIL=20260901T000000Z\r\nEXDATE;TZID=Europe/London:20260321T180000\r\nSUMMARY:Row\r
END:VEVENT\r\nBEGIN:VTODO\r\nUID:b\r\nDTSTAMP:20260101T000000Z\r\nDUE;VALUE=DATE:20260320\r\nPRIORITY:1\r
RRULE:FREQ=MONTHLY;COUNT=5\r\nDTSTART;VALUE=DATE:20260101\r\nSUMMARY:Paint\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"""


def _calendars() -> Iterator[Seed]:
    yield Seed(_CALENDAR, {})
    yield from _files("calendar.ics")


def _cut_json(name: str, path: tuple[str, ...]) -> Iterator[Seed]:
    """A payload with twelve rows of its many, so that a parse is short."""
    (whole,) = _files(name)
    told = json.loads(whole.data)
    inner = told
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = inner[path[-1]][:12]
    yield Seed(json.dumps(told).encode(), {})


def _track() -> Iterator[Seed]:
    """The head and the end of a track."""
    (whole,) = _files("track.gpx")
    lines = whole.data.splitlines(keepends=True)
    yield Seed(whole.data if len(lines) < 60 else b"".join(lines[:40] + lines[-12:]), {})


_SEEDS = {
    "forecast met-norway": lambda: _cut_json("locationforecast-compact.json", ("properties", "timeseries")),
    "forecast nws": lambda: (*_cut_json("nws-forecast-hourly.json", ("properties", "periods")), *_files("nws-forecast.json")),
    "forecast open-meteo": lambda: _files("open-meteo-error.json", "open-meteo-forecast.json"),
    "forecast bright-sky": lambda: _cut_json("brightsky-weather.json", ("weather",)),
    "observation": _observation,
    "alerts": lambda: _files("cap-alert.xml", "nws-alerts.json", "gale.cap.xml"),
    "agenda": _calendars,
    "caldav": _calendars,
    "series": _series,
    "track": _track,
    "sky": _sky,
    "own": _own,
    "feed": lambda: _files("feed.rss", "feed.atom"),
    "departures": _departures,
    "list": lambda: (*_files("todo.txt"), *_files("shopping.md", file="shopping.md")),
    "holidays": _holidays,
    "pictures": _pictures,
    "mqtt": _mqtt,
    "json": _json,
    "sql": _sql,
}  # fmt: skip

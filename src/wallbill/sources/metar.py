"""Reports of aerodromes (METAR and SPECI) made into an observation.

Source of the code form: WMO-No. 306, FM 15 and FM 16; ICAO Annex 3, appendix 3; for the groups of the United States,
Federal Meteorological Handbook No. 1. A payload may hold many reports of many stations, one or more lines each.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from wallbill.errors import Place, SourceError
from wallbill.facts.observation import Observation
from wallbill.findings import Finding
from wallbill.sources.metar_groups import read_groups
from wallbill.sources.payload import left_out
from wallbill.sources.spec import ParseContext
from wallbill.units.quantity import Quantity

_CREDIT = "Aviation Weather Center, US National Weather Service"
_HOUR = timedelta(hours=1)
_AHEAD = timedelta(hours=1)
_MOST_CHARACTERS = 2_000
_MOST_LINES = 20
_MEND = "Check the station's code, and that the address gives plain METAR text."

_STARTS = re.compile(
    r"(?:(METAR|SPECI)\s+)?(?:COR\s+)?([A-Z][A-Z0-9]{3})\s+(\d{2})(\d{2})(\d{2})Z(?=[\s=]|$)"
)
_DATED = re.compile(r"(\d{4})/(\d{2})/(\d{2}) (\d{2}):(\d{2})")


class _Report(NamedTuple):
    """One report. ``line``: the line of the payload that it begins on, from 1. ``body``: the groups after the time."""

    line: int
    station: str
    at: datetime
    special: bool
    raw: str
    body: str

    @property
    def corrected(self) -> bool:
        return re.search(r"\b(COR|CC[A-Z])\b", self.raw) is not None

    @property
    def is_nil(self) -> bool:
        return re.match(r"\s*(AUTO\s+|COR\s+)*NIL\b", self.body) is not None


def parse(data: bytes, context: ParseContext) -> Observation:
    """The newest report of the wall's station; of equally new ones a correction, else the later line.

    Groups that cannot be read are left out, each with a finding; forecasts and remarks are skipped, save the remarks
    that tell temperature and pressure more closely. Raises `SourceError` where there is no report of the station.
    """
    source, station = context.spec.name, str(context.spec.options.get("station", "")).strip().upper()
    if not re.fullmatch(r"[A-Z][A-Z0-9]{3}", station):
        raise SourceError(
            f"{station!r} is no code of a station",
            where=context.spec.where,
            mend='Write its four letters, such as station = "EGHD".',
        )
    reports = list(_reports(data.decode("utf-8", "replace"), context.now, source))
    ours = [report for report in reports if report.station == station and not report.is_nil]
    if not ours:
        raise _none_of(station, reports, source)
    newest = max(enumerate(ours), key=lambda pair: (pair[1].at, pair[1].corrected, pair[0]))[1]
    seen, unread = read_groups(_blank(newest, context), newest.body)
    findings = _unread(newest, unread, source)
    seen = replace(seen, origin=replace(seen.origin, findings=findings))
    if seen.pressure_change is None:
        seen = replace(seen, pressure_change=_change(seen, newest, ours))
    return seen


def _none_of(station: str, reports: Sequence[_Report], source: str) -> SourceError:
    others = sorted({report.station for report in reports} - {station})
    if any(report.station == station for report in reports):
        what = f"{station} gave no report (NIL)"
    elif others:
        what = f"there is no report of {station}, only of {', '.join(others[:5])}"
    else:
        what = "there is no METAR in it"
    return SourceError(what, where=Place(source), mend=_MEND)


def _reports(text: str, now: datetime, source: str) -> Iterator[_Report]:
    """The reports of a payload. A line that is indented goes on with the one before."""
    if not text.strip():
        raise SourceError("the payload is empty", where=Place(source), mend=_MEND)
    dated: datetime | None = None
    lines = text.replace("\x00", " ").splitlines()
    for number, line in enumerate(lines, 1):
        if (date := _DATED.match(line)) is not None:
            dated = _date_line(date) or dated
            continue
        start = _STARTS.match(line.lstrip("\ufeff").strip())
        if start is None:
            continue
        raw = " ".join([line, *_continued(lines[number : number + _MOST_LINES])]).lstrip("\ufeff")
        raw = " ".join(raw[:_MOST_CHARACTERS].split("=")[0].split())
        body = raw[len(" ".join(start.group().split())) :]
        at = moment_of((int(start[3]), int(start[4]), int(start[5])), min(dated or now, now))
        if at is not None and not re.match(r"\s*\d{4}/\d{4}\b", body):  # the validity of a forecast (TAF)
            yield _Report(number, start[2], at, start[1] == "SPECI", raw, body)


def _continued(lines: Sequence[str]) -> Iterator[str]:
    for line in lines:
        if not line[:1].isspace() or not line.strip() or _STARTS.match(line.strip()):
            return
        yield line


def _date_line(found: re.Match[str]) -> datetime | None:
    try:
        year, month, day, hour, minute = (int(part) for part in found.groups())
        return datetime(year, month, day, hour, minute, tzinfo=UTC)
    except ValueError:
        return None


def moment_of(day_hour_minute: tuple[int, int, int], now: datetime) -> datetime | None:
    """The last instant (aware, UTC) up to an hour after ``now`` (aware) with that day of the month, hour and minute.

    None for what no month of the last year has, such as a day 32 or an hour 24.
    """
    day, hour, minute = day_hour_minute
    latest = now.astimezone(UTC) + _AHEAD
    year, month = latest.year, latest.month
    for _ in range(12):
        try:
            found = datetime(year, month, day, hour, minute, tzinfo=UTC)
        except ValueError:
            found = None
        if found is not None and found <= latest:
            return found
        year, month = (year, month - 1) if month > 1 else (year - 1, 12)
    return None


def _blank(report: _Report, context: ParseContext) -> Observation:
    """An observation of which only the head is known."""
    ours = not {"url", "file"} & set(context.spec.options)
    return Observation(
        origin=context.origin("metar", credit=_CREDIT if ours else "", issued_at=report.at),
        station=report.station,
        valid_from=report.at,
        valid_to=report.at + _HOUR,
        raw=report.raw,
        corrected=report.corrected,
        special=report.special,
    )


def _unread(report: _Report, groups: Sequence[str], source: str) -> tuple[Finding, ...]:
    where = f"{report.station} of {report.at:%d %H:%M}"
    return left_out([(where, f"the group {group[:20]!r}") for group in groups], source)


def _change(seen: Observation, newest: _Report, reports: Sequence[_Report]) -> Quantity | None:
    """The change of pressure since the report nearest to three hours before, within half an hour of that."""
    wanted = newest.at - 3 * _HOUR
    near = [report for report in reports if abs(report.at - wanted) <= _HOUR / 2]
    if seen.pressure is None or not near:
        return None
    nearest = min(near, key=lambda report: abs(report.at - wanted))
    before = read_groups(replace(seen, pressure=None), nearest.body)[0].pressure
    if before is None:
        return None
    return Quantity(round(seen.pressure.value - before.value, 1), "hPa")

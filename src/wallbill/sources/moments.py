"""Moments as payloads write them: ISO 8601, seconds or milliseconds since 1970, or a pattern of one's own."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from wallbill.errors import SourceError
from wallbill.sources.saying import Saying

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Moments:
    """How moments are written. ``style``: ``iso``, ``unix``, ``unix-ms`` or a pattern of ``strptime``.

    ``zone``: of those that name none.
    """

    style: str
    zone: ZoneInfo

    def read(self, value: object) -> datetime:
        """A moment in UTC; raises ValueError, with words for a person, for what is none."""
        try:
            if self.style in {"unix", "unix-ms"}:
                return self._counted(value)
            if isinstance(value, str):
                found = self._written(value.strip())
                return (found if found.tzinfo else found.replace(tzinfo=self.zone)).astimezone(UTC)
        except (ValueError, OverflowError, TypeError):
            pass
        shown = repr(value) if len(repr(value)) <= 40 else repr(value)[:37] + "..."
        raise ValueError(f"{shown} is no time of the format {self.style!r}")

    def _written(self, text: str) -> datetime:
        if self.style == "iso":
            return datetime.fromisoformat(text)
        return datetime.strptime(text, self.style)  # noqa: DTZ007 - the caller knows the zone

    def _counted(self, value: object) -> datetime:
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise TypeError("no number")
        count = float(value)
        return _EPOCH + (
            timedelta(milliseconds=count) if self.style == "unix-ms" else timedelta(seconds=count)
        )

    def write(self, moment: datetime) -> str | int:
        """A moment (aware) as these are written: for ``iso`` as ``2026-01-31 06:30:00`` in the zone."""
        if self.style in {"unix", "unix-ms"}:
            return int((moment - _EPOCH) / timedelta(milliseconds=1 if self.style == "unix-ms" else 1000))
        if self.style == "iso":
            return f"{moment.astimezone(self.zone):%Y-%m-%d %H:%M:%S}"
        return moment.astimezone(self.zone).strftime(self.style)


def moments_of(say: Saying, zone: ZoneInfo) -> Moments:
    """The options ``time_format`` and ``time_zone`` of a source; ``zone``: the wall's.

    Raises `SourceError` for a zone that there is not, and for a format that is neither a name nor a pattern.
    """
    style = say.text("time_format", "iso")
    if style not in {"iso", "unix", "unix-ms"} and "%" not in style:
        raise SourceError(
            f"{style!r} is no format of times",
            where=say.at("time_format"),
            mend='Use iso, unix, unix-ms, or a pattern such as "%d.%m.%Y %H:%M".',
        )
    return Moments(style, say.zone("time_zone") or zone)

"""When the sun is up at the wall's place, for icons and for shaded nights."""

from datetime import datetime, timedelta

from wallbill.sources.sun import Spot, sun_altitude_deg

_RISEN_DEG = (
    -0.8333
)  # upper limb on the horizon with mean refraction: 34' + 16' (USNO definition, from memory)
_STEP = timedelta(minutes=10)


def is_up(moment: datetime, spot: Spot) -> bool:
    """Whether the sun's upper limb is above the horizon of ``spot`` at ``moment`` (aware)."""
    return sun_altitude_deg(moment, spot) > _RISEN_DEG


def nights(start: datetime, end: datetime, spot: Spot) -> tuple[tuple[datetime, datetime], ...]:
    """The stretches between ``start`` and ``end`` (aware) when the sun is down, to ten minutes."""
    found: list[tuple[datetime, datetime]] = []
    began: datetime | None = None
    at = start
    while at < end:
        up = is_up(at, spot)
        if not up and began is None:
            began = at
        if up and began is not None:
            found.append((began, at))
            began = None
        at += _STEP
    if began is not None:
        found.append((began, end))
    return tuple(found)

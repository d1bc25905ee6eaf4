"""The facts of a whole wall: gathered with its secrets, or read from what was kept with none."""

from collections.abc import Collection, Iterable, Mapping
from contextlib import suppress
from datetime import UTC, datetime

from wallbill.errors import WallbillError
from wallbill.facts.supply import Supplied, Supply
from wallbill.sources.fetching import Failures
from wallbill.sources.frozen import FrozenKeep, KeptSource, Mark, mark_of, remarked
from wallbill.sources.keeping import FactKeep
from wallbill.sources.shell import Gathering, asker_of, gather, gather_kept
from wallbill.wall.model import Wall
from wallbill.wall.shell import load_secrets


def gathering_of(wall: Wall) -> Gathering:
    """The wall as far as its sources need it."""
    place = wall.place
    return Gathering(
        folder=wall.folder,
        zone=wall.time_zone,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        language=wall.language,
        elevation_m=None if place.elevation is None else place.elevation.to("m").value,
        contact=wall.contact,
    )


def gather_wall(
    wall: Wall,
    now: datetime,
    *,
    keeper: FactKeep | None,
    only: Collection[str] | None = None,
    offline: bool = False,
) -> Supply:
    """The facts of the wall's sources (``only`` those named, or all) at ``now`` (aware)."""
    specs, troubles = load_secrets(wall)
    wanted = [name for name in wall.sources if only is None or name in only]
    supply = gather(
        [specs[name] for name in wanted if name in specs],
        gathering_of(wall),
        keeper=keeper,
        offline=offline,
        clock=lambda: now.astimezone(UTC),
    )
    return Supply({name: _supplied(name, wall, supply, troubles) for name in wanted})


def _supplied(name: str, wall: Wall, supply: Supply, troubles: Mapping[str, WallbillError]) -> Supplied:
    """What a source gave, or the trouble with its secrets that kept it from being asked."""
    if name in troubles:
        return Supplied(name, wall.sources[name].kind, None, troubles[name])
    return supply.sources[name]


def gather_round(wall: Wall, now: datetime, *, keeper: FactKeep, only: Collection[str]) -> tuple[Mark, ...]:
    """Gathers sources into the keeper, and gives the marks under which their facts are kept there.

    A source that lacks a secret keeps nothing; that it does is noted as its failure.
    """
    gather_wall(wall, now, keeper=keeper, only=only)
    specs, troubles = load_secrets(wall)
    asker = asker_of(gathering_of(wall), now)
    marks = tuple(
        mark_of(specs.get(name, spec), asker) for name, spec in wall.sources.items() if name in only
    )
    for mark in marks:
        trouble = troubles.get(mark.source)
        if trouble:
            with suppress(WallbillError):  # what cannot be noted is told as not gathered
                keeper.note_failures(
                    mark.source,
                    Failures(mark.settings, 1, now.astimezone(UTC), trouble.what, trouble.mend),
                )
    return marks


def frozen_facts(
    wall: Wall, now: datetime, marks: Iterable[Mark], *, keeper: FactKeep
) -> tuple[KeptSource, ...]:
    """What is kept under those marks, for `kept_supply`. Raises `SourceError` where the keeper cannot be read."""
    asker = asker_of(gathering_of(wall), now)
    return tuple(
        remarked(
            KeptSource(mark.source, tuple(keeper.kept(mark.source).values()), keeper.failures(mark.source)),
            mark,
            wall.sources[mark.source],
            asker=asker,
        )
        for mark in marks
        if mark.source in wall.sources
    )


def kept_supply(wall: Wall, now: datetime, *, sources: Iterable[KeptSource], only: Collection[str]) -> Supply:
    """The facts of sources from what was frozen of them; needs neither secrets nor network, and reads no file."""
    specs = [spec for name, spec in wall.sources.items() if name in only]
    return gather_kept(
        specs, gathering_of(wall), keeper=FrozenKeep(sources), clock=lambda: now.astimezone(UTC)
    )

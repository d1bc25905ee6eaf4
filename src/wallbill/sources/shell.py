"""Gathering: all facts of a wall at one moment, from files, the network, or what was kept.

One broken source never hides the others: each comes with its own trouble. What was good last time stands in for
what cannot be had now, and is stale as its age says.
"""

import contextlib
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import cached_property, partial
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from wallbill import __version__
from wallbill.errors import Place, SourceError, WallbillError
from wallbill.facts.supply import Supplied, Supply
from wallbill.sources.asking import PAYLOAD, POINT, Asker, identity_of, is_web, settings_of, steps
from wallbill.sources.fetching import Failures, Kept, Limits
from wallbill.sources.frozen import FrozenKeep
from wallbill.sources.house_kinds import is_local_database
from wallbill.sources.keeping import FactKeep
from wallbill.sources.reading import Facts, joined, read_kept, reader
from wallbill.sources.shell_files import read_files
from wallbill.sources.shell_lanes import run_lanes
from wallbill.sources.shell_own import call_own
from wallbill.sources.spec import ParseContext, SourceSpec, kinds

if TYPE_CHECKING:
    from wallbill.sources.shell_network import Network

RECKONED = frozenset({"sky", "holidays"})
"""Kinds whose facts are worked out, from nothing but the place and the moment."""

_LOCAL = RECKONED | {"own"}
_DATED_ANEW = timedelta(minutes=1)
_HERE = frozenset({"file", "files", "folder"})
"""Options that name what lies in the wall folder."""


@dataclass(frozen=True, slots=True)
class Gathering:
    """The wall as far as its sources need it.

    ``folder``: the wall's, in which ``file`` payloads lie. ``contact``: sent to weather services, "" if the wall names
    none. ``limits``: of each fetch. ``total_s``: after which a source that has not answered is given up.
    """

    folder: Path
    zone: ZoneInfo
    latitude_deg: float
    longitude_deg: float
    language: str
    elevation_m: float | None = None
    contact: str = ""
    limits: Limits = field(default_factory=Limits)
    total_s: float = 60.0


def gather(
    specs: Iterable[SourceSpec],
    context: Gathering,
    *,
    keeper: FactKeep | None,
    offline: bool = False,
    clock: Callable[[], datetime],
) -> Supply:
    """The facts of every source, in the order of ``specs``; never raises for a source's sake.

    ``keeper``: where the last good payloads are kept, None: nowhere. ``offline``: no socket is opened.
    ``clock``: gives now, aware. A source is asked no more often than its publisher allows; in between, its kept
    payload is read anew.
    """
    job = _Job(context, keeper, clock)
    listed = [_judged(spec) for spec in specs]
    asked = [spec for spec in listed if _is_slow(spec) or (not offline and _is_remote(spec))]
    found = _at_once(asked, job)
    for spec in listed:
        if spec.name not in found:
            found[spec.name] = job.supplied(spec, job.without_network)
    return Supply(MappingProxyType({spec.name: found[spec.name] for spec in listed}))


def gather_kept(
    specs: Iterable[SourceSpec],
    context: Gathering,
    *,
    keeper: FactKeep | FrozenKeep,
    clock: Callable[[], datetime],
) -> Supply:
    """The facts of every source as far as they were gathered before; only what can be reckoned is made anew.

    No file is read, no function called and no socket opened. ``keeper``: what was kept, and what went wrong since.
    """
    job = _Job(context, keeper, clock)
    listed = [_judged(spec) for spec in specs]
    return Supply(MappingProxyType({spec.name: job.supplied(spec, job.only_kept) for spec in listed}))


def asker_of(context: Gathering, now: datetime) -> Asker:
    """Who asks a wall's sources at ``now`` (aware)."""
    return Asker(
        latitude_deg=context.latitude_deg,
        longitude_deg=context.longitude_deg,
        elevation_m=context.elevation_m,
        zone=context.zone.key,
        today=now.astimezone(context.zone).date(),
        version=__version__,
        contact=context.contact,
    )


def _judged(spec: SourceSpec) -> SourceSpec:
    """The source, good for as long as its kind says where the wall says nothing."""
    kind = kinds().get(spec.kind)
    return spec if spec.good_for or kind is None else replace(spec, good_for=kind.good_for)


def _is_remote(spec: SourceSpec) -> bool:
    if spec.kind == "sql":
        return not is_local_database(spec.options)
    if spec.kind == "departures":
        return "url" in spec.options or is_web(spec.options.get("realtime"))
    return spec.kind not in _LOCAL and not _HERE & set(spec.options)


def _is_slow(spec: SourceSpec) -> bool:
    """Whether a source of this machine may take its time, as a function, a query or a long timetable may."""
    if spec.kind in {"departures", "pictures"}:
        return not _is_remote(spec)
    return spec.kind == "own" or (spec.kind == "sql" and is_local_database(spec.options))


def _at_once(specs: Sequence[SourceSpec], job: "_Job") -> dict[str, Supplied]:
    """Several sources at a time, each host asked one thing after the other; who is late is given up."""
    groups: dict[str, list[SourceSpec]] = {}
    for spec in specs:
        groups.setdefault(f"{spec.name} here" if _is_slow(spec) else job.host(spec), []).append(spec)
    found: dict[str, Supplied] = {}
    late = threading.Event()

    def one_host(group: Sequence[SourceSpec]) -> None:
        for spec in group:
            if not late.is_set():
                found[spec.name] = job.supplied(spec, job.without_network if _is_slow(spec) else job.network)

    run_lanes([partial(one_host, group) for group in groups.values()], total_s=job.context.total_s)
    late.set()
    in_time = dict(found)
    return {spec.name: in_time.get(spec.name) or job.supplied(spec, job.given_up) for spec in specs}


@dataclass(frozen=True, slots=True)
class _Found:
    """What a source gave: facts, what went wrong, or both."""

    facts: Facts | None
    trouble: WallbillError | None = None
    due_at: datetime | None = None


class _Job:
    """One gathering: the moment, the place, and the ways to facts."""

    def __init__(
        self, context: Gathering, keeper: FactKeep | FrozenKeep | None, clock: Callable[[], datetime]
    ) -> None:
        self.context = context
        self._keeper = keeper
        self._now = clock().astimezone(UTC)
        self._asker = asker_of(context, self._now)
        self._clock = clock

    @cached_property
    def _network(self) -> "Network":
        """The way to the network; its libraries are loaded only for a wall that goes there."""
        from wallbill.sources.shell_http import Fetcher  # noqa: PLC0415  see above
        from wallbill.sources.shell_network import Network  # noqa: PLC0415  see above

        return Network(
            Fetcher(self.context.limits, self._clock),
            None if isinstance(self._keeper, FrozenKeep) else self._keeper,
            asker=self._asker,
            context=self._parse_context,
            visit=self._visit,
        )

    def _visit(self, spec: SourceSpec, before: bytes | None) -> bytes:
        """The payload of what is not asked over plain HTTP; the libraries are loaded only for a wall that has it."""
        if spec.kind == "departures":
            return self._lying_here(spec, before)
        how: Any = {"folder": self.context.folder, "limits": self.context.limits, "clock": self._clock}
        if spec.kind == "mqtt":
            from wallbill.sources.shell_mqtt import ask_broker  # noqa: PLC0415  see above

            return ask_broker(spec, before, **how)
        if spec.kind == "caldav":
            from wallbill.sources.shell_caldav import ask_calendar  # noqa: PLC0415  see above
            from wallbill.sources.shell_http import Fetcher  # noqa: PLC0415  see above

            fetcher = Fetcher(self.context.limits, self._clock)
            return ask_calendar(
                self._parse_context(spec, self._now), self._asker, fetcher=fetcher, before=before
            )
        from wallbill.sources.shell_sql import ask_database  # noqa: PLC0415  see above

        return ask_database(spec, self.context.zone, **how)

    def supplied(self, spec: SourceSpec, way: Callable[[SourceSpec], _Found]) -> Supplied:
        """What a way gives for a source; whatever goes wrong is the source's own trouble."""
        try:
            found = way(spec)
        except WallbillError as trouble:
            found = _Found(None, trouble)
        except Exception as fault:  # noqa: BLE001  a reader's mistake must not take the other sources along
            what = f"its reader failed: {type(fault).__name__}"
            found = _Found(
                None, SourceError(what, where=Place(spec.name), mend="Report it with the payload.")
            )
        return Supplied(spec.name, spec.kind, found.facts, found.trouble, found.due_at)

    def host(self, spec: SourceSpec) -> str:
        """The host that a source asks first, "" if it cannot be asked."""
        try:
            return steps(spec, self._asker, {})[0].request.host
        except WallbillError:
            return ""

    def without_network(self, spec: SourceSpec) -> _Found:
        """From a file, a function or a reckoning, or from what was kept."""
        if spec.kind in RECKONED:
            return _Found(reader(spec)(b"", self._parse_context(spec, self._now)))
        if spec.kind == "own":
            return self._local(
                spec, lambda: call_own(self.context.folder, self._parse_context(spec, self._now))
            )
        if spec.kind == "sql" and is_local_database(spec.options):
            return self._local(spec, lambda: self._visit(spec, None))
        if _HERE & set(spec.options):
            return self._local(spec, lambda: self._lying_here(spec))
        return self._kept(
            spec,
            else_=SourceError(
                "nothing is kept of it, and the network is not to be used",
                where=Place(spec.name),
                mend="Gather once with the network, or give the source a file.",
            ),
        )

    def only_kept(self, spec: SourceSpec) -> _Found:
        """From what was kept, with what went wrong since; sun, moon and holidays are reckoned."""
        if spec.kind in RECKONED:
            return _Found(reader(spec)(b"", self._parse_context(spec, self._now)))
        known = self._failures(spec)
        told = SourceError(known.what, where=Place(spec.name), mend=known.mend) if known else None
        never = SourceError(
            "it has not been gathered yet", where=Place(spec.name), mend="Nothing: it will be, in its turn."
        )
        return self._kept(spec, trouble=told, else_=told or never)

    def _failures(self, spec: SourceSpec) -> Failures | None:
        """What went wrong with a source, under its settings of now, since it was last good."""
        try:
            known = self._keeper.failures(spec.name) if self._keeper else None
        except WallbillError:
            return None
        return known if known and known.identity == settings_of(spec, self._asker) else None

    def _note(self, spec: SourceSpec, trouble: WallbillError) -> None:
        """Notes what went wrong here, for who looks only at what is kept; nobody is made to wait for it."""
        known = self._failures(spec)
        if self._keeper and (known is None or (known.what, known.mend) != (trouble.what, trouble.mend)):
            settings = settings_of(spec, self._asker)
            count = known.count if known else 0
            with contextlib.suppress(WallbillError):
                self._keeper.note_failures(
                    spec.name, Failures(settings, count, self._now, trouble.what, trouble.mend)
                )

    def _lying_here(self, spec: SourceSpec, before: bytes | None = None) -> bytes:
        """The payload of files in the wall folder. ``before``: the last one, where it is known already."""
        folder, limits = self.context.folder, self.context.limits
        if spec.kind == "departures":
            from wallbill.sources.shell_departures import read_timetable_here  # noqa: PLC0415  see above

            news = "realtime" in spec.options and not is_web(spec.options["realtime"])
            return read_timetable_here(folder, spec, before or self._kept_body(spec), news=news)
        if "folder" in spec.options:
            from wallbill.sources.shell_pictures import list_pictures  # noqa: PLC0415  see above

            return list_pictures(folder, spec, today=self._asker.today)
        return read_files(spec, folder, limits.body_bytes)

    def _kept_body(self, spec: SourceSpec) -> bytes | None:
        try:
            known = self._keeper.kept(spec.name).get(PAYLOAD) if self._keeper else None
        except WallbillError:
            return None
        return known.body if known and known.identity == identity_of(spec, self._asker) else None

    def network(self, spec: SourceSpec) -> _Found:
        """From the network, or from what was kept where that is good enough or all there is."""
        try:
            got = self._network.get(spec)
        except WallbillError as trouble:
            return self._kept(spec, trouble=trouble, else_=trouble)
        return _Found(got.facts, got.trouble, got.due_at)

    def given_up(self, spec: SourceSpec) -> _Found:
        """From what was kept, for a source that did not answer in time."""
        trouble = SourceError(
            f"it was given up after {self.context.total_s:g} s",
            where=Place(spec.name),
            mend="Nothing, if it happens once: it is asked again later. Else look at the network.",
        )
        self._note(spec, trouble)
        return self._kept(spec, trouble=trouble, else_=trouble)

    def _parse_context(self, spec: SourceSpec, fetched_at: datetime) -> ParseContext:
        context = self.context
        return ParseContext(
            spec=spec,
            zone=context.zone,
            latitude_deg=context.latitude_deg,
            longitude_deg=context.longitude_deg,
            now=self._now,
            fetched_at=fetched_at,
            language=context.language,
        )

    def _kept(
        self, spec: SourceSpec, *, else_: WallbillError, trouble: WallbillError | None = None
    ) -> _Found:
        """The facts of what was kept, with the trouble that made us look there; without any, ``else_``."""
        identity = identity_of(spec, self._asker)
        try:
            kept = self._keeper.kept(spec.name) if self._keeper else {}
        except WallbillError:
            raise else_ from None
        parts = [part for part in kept.values() if part.identity == identity and part.part != POINT]
        bodies = {part.part: part.body for part in parts}
        facts = [read_kept(part, self._parse_context(spec, part.fetched_at), bodies) for part in parts]
        if not facts:
            raise else_
        return _Found(joined(facts, self._parse_context(spec, self._now)), trouble)

    def _local(self, spec: SourceSpec, payload: Callable[[], bytes]) -> _Found:
        """From a file or a function of the wall; if that fails just now, from what it last gave."""
        try:
            body = payload()
            # A file's own date is not taken: a checkout or a copy makes it new. Its issue time counts, if it has one.
            facts = reader(spec)(body, self._parse_context(spec, self._now))
        except WallbillError as trouble:
            self._note(spec, trouble)
            return self._kept(spec, trouble=trouble, else_=trouble)
        return _Found(facts, self._keep_local(spec, body))

    def _keep_local(self, spec: SourceSpec, body: bytes) -> WallbillError | None:
        """Keeps a payload of this machine; one that is as before is dated anew, as it was found good again."""
        identity = identity_of(spec, self._asker)
        try:
            known = self._keeper.kept(spec.name).get(PAYLOAD) if self._keeper else None
            same = known is not None and (known.identity, known.body) == (identity, body)
            late = known is not None and abs(self._now - known.fetched_at) >= _DATED_ANEW
            if self._keeper and (not same or late or self._keeper.failures(spec.name)):
                self._keeper.keep(
                    spec.name, Kept(spec.name, PAYLOAD, identity, "", body, {}, self._now, self._now)
                )
        except WallbillError as trouble:
            return trouble
        return None

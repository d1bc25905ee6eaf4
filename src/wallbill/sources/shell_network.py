"""One source from the network: its steps one after the other, each asked only when it is due."""

import contextlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from wallbill.errors import Place, SourceError, WallbillError
from wallbill.sources.asking import (
    POINT,
    VISIT,
    VISITED,
    Asker,
    Step,
    identity_of,
    quotable,
    settings_of,
    steps,
)
from wallbill.sources.fetching import (
    Answer,
    Failures,
    Kept,
    back_off,
    conditional_headers,
    jitter,
    kept_anew,
    lasting_headers,
    next_fetch,
)
from wallbill.sources.judging import RefusalError, judge
from wallbill.sources.keeping import FactKeep
from wallbill.sources.reading import Facts, joined, read_kept, to_keep
from wallbill.sources.shell_http import Fetcher
from wallbill.sources.spec import ParseContext, SourceSpec, kinds

_EVERY = timedelta(minutes=30)
_EARLY = timedelta(minutes=5)
_VISIT_AGAIN = timedelta(minutes=5)
"""How soon a broker or a database that failed is visited again: it is the wall's own, and bears it."""


@dataclass(frozen=True, slots=True)
class Got:
    """What a source gave: facts, trouble or both, and when it may be asked again (aware, UTC)."""

    facts: Facts | None
    trouble: WallbillError | None
    due_at: datetime | None


@dataclass(frozen=True, slots=True)
class _Part:
    """One step done. ``tried``: whether the trouble is of now, and not one that we are still waiting out."""

    kept: Kept | None
    facts: Facts | None = None
    trouble: WallbillError | None = None
    tried: bool = False


@dataclass(frozen=True, slots=True)
class _Source:
    """A source under way: what is kept of it and what went wrong before.

    ``settings``: a digest of all that a person can mend; failures under other settings do not count.
    """

    spec: SourceSpec
    identity: str
    settings: str
    kept: Mapping[str, Kept]
    failures: Failures | None
    every: timedelta
    spread: float


class Network:
    """Gets sources from the network, or what was kept of them while they are not due.

    ``context``: gives a parser's context for a source and the moment that its payload reached us. ``visit``: goes to a
    source that is not asked over HTTP, with what is kept of it, and gives its payload.
    """

    def __init__(
        self,
        fetcher: Fetcher,
        keeper: FactKeep | None,
        *,
        asker: Asker,
        context: Callable[[SourceSpec, datetime], ParseContext],
        visit: Callable[[SourceSpec, bytes | None], bytes],
    ) -> None:
        self._fetcher = fetcher
        self._keeper = keeper
        self._asker = asker
        self._context = context
        self._visit = visit

    def get(self, spec: SourceSpec) -> Got:
        """The facts of a source; raises `WallbillError` where it cannot even be asked."""
        source = self._source(spec)
        parts: dict[str, _Part] = {}
        bodies: dict[str, bytes] = {}
        while pending := next((s for s in steps(spec, self._asker, bodies) if s.part not in parts), None):
            part = self._part(source, pending, bodies)
            if not pending.must and _is_lost(part):
                part = replace(part, tried=False)
            parts[pending.part] = part
            if part.kept is not None:
                bodies[pending.part] = part.kept.body
        told = [part.facts for part in parts.values() if part.facts is not None]
        trouble = next((part.trouble for part in parts.values() if part.trouble), None)
        failures = self._note(source, parts)
        self._forget(source, parts)
        due = [part.kept.due_at for part in parts.values() if part.kept is not None]
        now = self._fetcher.now()
        return Got(
            facts=joined(told, self._context(spec, now)),
            trouble=trouble,
            due_at=failures.due_at if failures else min(due, default=None),
        )

    def _forget(self, source: _Source, parts: Mapping[str, _Part]) -> None:
        """Forgets kept parts that the source no longer leads to, if what leads there is known to be good."""
        first = next(iter(parts.values()), None)
        gone = set(source.kept) - set(parts)
        if self._keeper and gone and first is not None and first.kept is not None and first.trouble is None:
            with contextlib.suppress(WallbillError):  # they are read once more, and forgotten the next time
                self._keeper.forget_parts(source.spec.name, gone)

    def _source(self, spec: SourceSpec) -> _Source:
        identity = identity_of(spec, self._asker)
        settings = settings_of(spec, self._asker)
        kept: Mapping[str, Kept] = {}
        failures = None
        with contextlib.suppress(WallbillError):  # it is said when the answer cannot be kept
            kept = self._keeper.kept(spec.name) if self._keeper else {}
            failures = self._keeper.failures(spec.name) if self._keeper else None
        return _Source(
            spec=spec,
            identity=identity,
            settings=settings,
            kept={name: part for name, part in kept.items() if part.identity == identity},
            failures=failures if failures and failures.identity == settings else None,
            every=spec.every or kinds()[spec.kind].every or _EVERY,
            spread=jitter(*self._asker.mark, spec.name),
        )

    def _part(self, source: _Source, step: Step, bodies: Mapping[str, bytes]) -> _Part:
        """One step: kept and not yet due, or asked for; what was kept stands in if that fails."""
        old = source.kept.get(step.part)
        now = self._fetcher.now()
        if old is not None and now < old.due_at and not _is_otherwise(old, step):
            try:
                return _Part(old, self._read(source.spec, old, bodies))
            except WallbillError as trouble:
                return _Part(old, None, trouble)
        waiting = source.failures
        if waiting is not None and now < waiting.due_at:
            before = SourceError(waiting.what, where=Place(source.spec.name), mend=waiting.mend)
            return self._stand_in(source, old, before, tried=False, bodies=bodies)
        try:
            new = self._ask(source, step, old)
            facts = self._read(source.spec, new, bodies)
        except WallbillError as trouble:
            return self._stand_in(source, old, trouble, tried=True, bodies=bodies)
        try:
            if self._keeper:
                self._keeper.keep(source.spec.name, new)
        except WallbillError as trouble:
            return _Part(new, facts, trouble)
        return _Part(new, facts)

    def _stand_in(
        self,
        source: _Source,
        old: Kept | None,
        trouble: WallbillError,
        *,
        tried: bool,
        bodies: Mapping[str, bytes],
    ) -> _Part:
        try:
            facts = self._read(source.spec, old, bodies) if old is not None and old.part != POINT else None
        except WallbillError:
            facts = None
        return _Part(old, facts, trouble, tried)

    def _ask(self, source: _Source, step: Step, old: Kept | None) -> Kept:
        """What the answer to a step gives to keep; raises `WallbillError` if it gives nothing."""
        if step.request.url.startswith(VISIT):
            return self._visited(source, step, old)
        request, name = step.request, source.spec.name
        asked = request.asked
        request = replace(request, headers=(*request.headers, *conditional_headers(old, asked)))
        answer = self._fetcher.fetch(request, name)
        refusal = judge(answer, host=request.host, source=name, quotable=quotable(source.spec))
        if refusal is not None:
            raise refusal
        due_at = next_fetch(answer, every=source.every, least=step.least, spread=source.spread)
        if answer.status != 304:
            answer = replace(answer, body=to_keep(source.spec, step.part, answer.body))
            return _new(source, step, answer=answer, due_at=due_at)
        if old is None or old.asked != asked:
            raise RefusalError(
                "it says that nothing has changed, but nothing was there before",
                where=Place(name, field=request.host),
                mend="Report it to those who run the server.",
            )
        return kept_anew(old, answer, due_at)

    def _visited(self, source: _Source, step: Step, old: Kept | None) -> Kept:
        """What a visit gives to keep. The wall's own wish says when to go again: nobody else is troubled by it."""
        asked_at = self._fetcher.now()
        body = self._visit(source.spec, None if old is None else old.body)
        answer = Answer(200, {}, body, requested_at=asked_at, received_at=self._fetcher.now())
        wait = max(source.every - min(source.every / 10, _EARLY), step.least)
        return _new(source, step, answer=answer, due_at=answer.received_at + wait)

    def _read(self, spec: SourceSpec, kept: Kept, bodies: Mapping[str, bytes]) -> Facts | None:
        """The facts of a part; for one that only leads on, that it does is made sure of."""
        if kept.part == POINT:
            steps(spec, self._asker, {**bodies, kept.part: kept.body})
            return None
        return read_kept(kept, self._context(spec, kept.fetched_at), bodies)

    def _note(self, source: _Source, parts: Mapping[str, _Part]) -> Failures | None:
        """Notes a failure of now, and gives the failures that still count."""
        tried = next((part.trouble for part in parts.values() if part.tried), None)
        if tried is None:
            return source.failures if any(part.trouble for part in parts.values()) else None
        count = (source.failures.count if source.failures else 0) + 1
        asked = tried.wait if isinstance(tried, RefusalError) else None
        failures = Failures(
            identity=source.settings,
            count=count,
            due_at=back_off(
                self._fetcher.now(),
                count=count,
                asked=asked,
                spread=source.spread,
                most=_VISIT_AGAIN if source.spec.kind in (VISITED | {"departures"}) else None,
            ),
            what=tried.what,
            mend=tried.mend,
        )
        if self._keeper:
            with contextlib.suppress(WallbillError):  # the trouble itself is told all the same
                self._keeper.note_failures(source.spec.name, failures)
        return failures


def _is_otherwise(old: Kept, step: Step) -> bool:
    """Whether what is kept of a visited source was asked for with other wishes than those of now."""
    return step.request.url.startswith(VISIT) and old.asked != step.request.asked


def _is_lost(part: _Part) -> bool:
    """Whether a part is in trouble through no wish of the server's to be left in peace."""
    return not (isinstance(part.trouble, RefusalError) and part.trouble.wait is not None)


def _new(source: _Source, step: Step, *, answer: Answer, due_at: datetime) -> Kept:
    return Kept(
        source=source.spec.name,
        part=step.part,
        identity=source.identity,
        asked=step.request.asked,
        body=answer.body,
        headers=lasting_headers(answer),
        fetched_at=answer.received_at.astimezone(UTC),
        due_at=due_at,
    )

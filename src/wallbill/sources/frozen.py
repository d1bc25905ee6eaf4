"""What was kept of a wall's sources at one moment, as values: what a round of pulls reads, and nothing else."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from wallbill.sources.asking import Asker, identity_of, settings_of
from wallbill.sources.fetching import Failures, Kept
from wallbill.sources.spec import SourceSpec


@dataclass(frozen=True, slots=True)
class Mark:
    """By what the kept payloads and failures of a source are known: digests of its settings with its secrets filled in."""

    source: str
    identity: str
    settings: str


@dataclass(frozen=True, slots=True)
class KeptSource:
    """All that is kept of a source: its good payloads, and what went wrong since."""

    source: str
    parts: tuple[Kept, ...] = ()
    failures: Failures | None = None


class FrozenKeep:
    """Kept facts that no longer change. Looks like a keeper to who only reads."""

    def __init__(self, sources: Iterable[KeptSource] = ()) -> None:
        self._sources = {each.source: each for each in sources}

    def kept(self, source: str) -> Mapping[str, Kept]:
        """What is kept of a source, by part."""
        known = self._sources.get(source)
        return MappingProxyType({part.part: part for part in known.parts} if known else {})

    def failures(self, source: str) -> Failures | None:
        """What has gone wrong with a source since it was last good, or None."""
        known = self._sources.get(source)
        return known.failures if known else None

    def keep(self, source: str, *parts: Kept) -> None:
        """Nothing is written."""

    def note_failures(self, source: str, failures: Failures) -> None:
        """Nothing is written."""


def mark_of(spec: SourceSpec, asker: Asker) -> Mark:
    """The mark of a source as it is asked, with its secrets filled in if they are known."""
    return Mark(spec.name, identity_of(spec, asker), settings_of(spec, asker))


def remarked(kept: KeptSource, mark: Mark, spec: SourceSpec, *, asker: Asker) -> KeptSource:
    """What counts of a source's kept payloads and failures, marked for a reader who does not know its secrets.

    ``mark``: under which they were kept. ``spec``: the source with its secrets left out.
    """
    own = mark_of(spec, asker)
    parts = (replace(part, identity=own.identity) for part in kept.parts if part.identity == mark.identity)
    failures = kept.failures if kept.failures and kept.failures.identity == mark.settings else None
    return KeptSource(
        kept.source, tuple(parts), replace(failures, identity=own.settings) if failures else None
    )

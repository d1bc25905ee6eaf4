"""What the server counts and measures of itself, as a page for Prometheus.

Names follow Prometheus's practice (base units, ``_total`` for what only grows; docs/reference/watching.md). No label takes
a value from outside, so that nobody can make the page grow.
"""

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, ProcessCollector
from prometheus_client.exposition import choose_encoder
from prometheus_client.metrics_core import Metric
from prometheus_client.registry import Collector

from wallbill.server.model import Form
from wallbill.store.model import Notice, Outcome, Why

MOST_NAMES = 1000
"""So many displays, and so many sources, are named at most; the rest is only in the sums."""

_OTHER = "other"
_STATUSES = frozenset({200, 204, 206, 301, 302, 303, 304, 400, 401, 403, 404, 405, 406, 409, 411, 412, 413, 414, 415,
                       421, 422, 429, 431, 500, 501, 503})  # fmt: skip
_PRESS_S = (0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)
_FLUSH_S = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 5.0)
_MOST_KINDS = 50


class _Plain(Collector):
    """A registry without the moments at which each count began, which the plain format makes metrics of their own."""

    def __init__(self, registry: CollectorRegistry) -> None:
        self._registry = registry

    def collect(self) -> Iterable[Metric]:
        for metric in self._registry.collect():
            metric.samples = [each for each in metric.samples if not each.name.endswith("_created")]
            yield metric


class Meters:
    """The meters of one server, with a registry of their own. May be used from several threads.

    ``process``: whether to tell of this process's memory, processor time and open files too.
    """

    def __init__(self, *, version: str, process: bool = True) -> None:
        self._registry = registry = CollectorRegistry(auto_describe=True)
        if process:
            ProcessCollector(registry=registry)

        def counter(name: str, what: str, *labels: str) -> Counter:
            return Counter(f"wallbill_{name}", what, labels, registry=registry)

        def gauge(name: str, what: str, *labels: str) -> Gauge:
            return Gauge(f"wallbill_{name}", what, labels, registry=registry)

        self._requests = counter(
            "requests", "Requests of devices answered, by status and file format.", "status", "form"
        )
        self._contacts = counter("contacts", "Calls by displays that showed a good key.")
        self._presses = counter("presses", "Pressings done, by what came of them.", "outcome")
        self._press_s = Histogram(
            "wallbill_press_duration_seconds",
            "How long pressings took.",
            registry=registry,
            buckets=_PRESS_S,
        )
        self._editions = counter("editions", "Editions put up, by what made them.", "why")
        self._flush_s = Histogram(
            "wallbill_store_flush_duration_seconds",
            "How long it took to write contacts and reports to the store.",
            registry=registry,
            buckets=_FLUSH_S,
        )
        self._waiting = gauge("pulls_waiting", "Pulls that wait or are being pressed.")
        self._displays = gauge("displays", "Displays on the wall.")
        self._late = gauge("displays_late", "Displays that have missed their wakes.")
        self._source_s = gauge("source_age_seconds", "Age of a source's facts.", "source")
        self._battery_v = gauge("battery_volts", "Voltage of a display's battery, as last told.", "display")
        self._notices = gauge("notices_open", "Notices that go on, by kind.", "kind")
        gauge("build_info", "1, with the running version.", "version").labels(version).set(1)
        # An answer must cost next to nothing, so what it counts is looked up once.
        self._answers = MappingProxyType(
            {
                (status, form): self._requests.labels(status, form)
                for status in (*map(str, sorted(_STATUSES)), _OTHER)
                for form in (*map(str, Form), _OTHER)
            }
        )
        for outcome in Outcome:
            self._presses.labels(outcome.value)
        for why in Why:
            self._editions.labels(why.value)

    def answered(self, status: int, form: str = _OTHER) -> None:
        """Counts an answer to a device: HTTP status, and the `Form` asked for (anything else counts as other)."""
        told = str(status) if status in _STATUSES else _OTHER
        count = self._answers.get((told, form)) or self._answers[told, _OTHER]
        count.inc()

    def contacted(self, count: int = 1) -> None:
        """Counts calls of displays."""
        self._contacts.inc(count)

    def pressed(self, outcome: Outcome, took_s: float) -> None:
        """Counts a pressing and how long it took, seconds."""
        self._presses.labels(outcome.value).inc()
        self._press_s.observe(took_s)

    def put_up(self, why: Why) -> None:
        """Counts an edition."""
        self._editions.labels(why.value).inc()

    def flushed(self, took_s: float) -> None:
        """Counts a flush of the store's records, seconds."""
        self._flush_s.observe(took_s)

    def waiting(self, pulls: int) -> None:
        """Sets how many pulls wait or are being pressed."""
        self._waiting.set(pulls)

    def hanging(self, displays: int, *, late: int) -> None:
        """Sets how many displays there are, and how many of them are late."""
        self._displays.set(displays)
        self._late.set(late)

    def aged(self, ages_s: Mapping[str, float]) -> None:
        """Sets the age of each source's facts, seconds; sources that are not named are forgotten."""
        _set_named(self._source_s, ages_s)

    def charged(self, volts_mv: Mapping[str, float]) -> None:
        """Sets each display's battery voltage, millivolts; displays that are not named are forgotten."""
        _set_named(self._battery_v, {name: mv / 1000 for name, mv in volts_mv.items()})

    def noticed(self, notices: Sequence[Notice]) -> None:
        """Sets how many notices go on, from those that are open."""
        self._notices.clear()
        kinds = sorted({notice.kind for notice in notices})[:_MOST_KINDS]
        for kind in kinds:
            self._notices.labels(kind).set(sum(notice.kind == kind for notice in notices))

    def page(self, accept: str = "") -> tuple[bytes, str]:
        """The page and its media type. ``accept``: the header of that name, which may ask for OpenMetrics."""
        encode, media_type = choose_encoder(accept)
        return encode(_Plain(self._registry)), media_type


def _set_named(gauge: Gauge, values: Mapping[str, float]) -> None:
    """Sets a gauge for each name and forgets all others."""
    gauge.clear()
    for name in sorted(values)[:MOST_NAMES]:
        gauge.labels(name).set(values[name])

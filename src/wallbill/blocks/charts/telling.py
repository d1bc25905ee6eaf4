"""The text alternative of a chart: what it shows in one short line, for people and programs that cannot see it.

Built of names, values, units and moments in the wall's own wording, with the few words of `wallbill.blocks.charts.words.Words` between them. A chart
with a ``title`` says that instead, and one whose title is empty is decoration and says nothing.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from wallbill.blocks.charts.readings import Runs, Span, is_number
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.ticks import MINUS

_DASH = "–"
_SURE_FIGURES = 4  # of a told value: as many as any label shows


def told(spec: ChartSpec, sayings: Iterable[str]) -> str:
    """The text alternative: the spec's title where it has one ("" is decoration), else what ``sayings`` say."""
    if spec.title is not None:
        return spec.title
    return ". ".join(dict.fromkeys(saying for saying in sayings if saying))


def series_told(named: Sequence[tuple[str, Runs]], unit: str, *, spec: ChartSpec) -> Iterator[str]:
    """What each series shows in the stretch of the spec: its range, and its latest and highest value with their time.

    Of several series only the range and the latest value are told. Nothing known is a dash.
    """
    for name, parts in named:
        yield _headed(name, _line_told(parts, unit, spec=spec, brief=len(named) > 1))


def _line_told(parts: Runs, unit: str, *, spec: ChartSpec, brief: bool) -> str:
    words = spec.words
    shown = [part for run in parts if len(part := run.between(spec.start, spec.end))]
    if not shown:
        return _DASH
    highest = max(shown, key=lambda run: float(run.values.max()))
    low, high = min(float(run.values.min()) for run in shown), float(highest.values.max())
    sayings = [range_text(low, high, unit, spec=spec)]
    if low == high:
        return sayings[0]
    last = float(shown[-1].values[-1])
    if brief:
        return f"{sayings[0]}; {words.latest} {amount_text(last, unit, spec=spec)}"
    sayings.append(f"{words.latest} {_value_at(last, shown[-1][-1].at, unit, spec=spec)}")
    peak = highest[int(highest.values.argmax())].at
    sayings.append(f"{words.highest} {_value_at(high, peak, unit, spec=spec)}")
    return "; ".join(sayings)


def nothing_told(names: Iterable[str] = ()) -> Iterator[str]:
    """What stands for series of which nothing is known: their names, and a dash."""
    yield _headed(", ".join(name for name in names if name), _DASH)


def spans_told(spans: Sequence[Span], unit: str, *, spec: ChartSpec, sums: bool = False) -> str:
    """The largest amount with its time, and the sum of all if ``sums``: amounts of rain add up, means do not."""
    words, known = (
        spec.words,
        [span for span in spans if is_number(span.value) and span.touches(spec.start, spec.end)],
    )
    if not known:
        return _DASH
    top = max(known, key=lambda span: span.value)
    sayings = (
        [f"{words.total} {amount_text(sum(span.value for span in known), unit, spec=spec)}"] if sums else []
    )
    if top.value != 0 or not sums:
        sayings.append(f"{words.highest} {_value_at(top.value, top.start, unit, spec=spec)}")
    return "; ".join(sayings)


def amounts_told(named: Iterable[tuple[str, float | None]], unit: str, *, spec: ChartSpec) -> str:
    """Names with their amounts, in the order given."""
    return "; ".join(f"{name} {amount_text(value, unit, spec=spec)}" for name, value in named) or _DASH


def range_text(low: float, high: float, unit: str, *, spec: ChartSpec) -> str:
    """From the lowest to the highest, the unit once."""
    if low == high:
        return amount_text(high, unit, spec=spec)
    first = spec.value_label(_sure(low)) if spec.value_label else f"{_sure(low):g}".replace("-", MINUS)
    return f"{first} {_DASH} {amount_text(high, unit, spec=spec)}"


def amount_text(value: float | None, unit: str, *, spec: ChartSpec) -> str:
    """A value with its unit as the wall words it; a dash for none."""
    if value is None or not is_number(value):
        return _DASH
    if spec.amount_label is not None:
        return spec.amount_label(_sure(value), unit)
    text = spec.value_label(_sure(value)) if spec.value_label else f"{_sure(value):g}".replace("-", MINUS)
    return f"{text} {unit}".rstrip()


def _value_at(value: float, at: datetime, unit: str, *, spec: ChartSpec) -> str:
    return f"{amount_text(value, unit, spec=spec)}, {spec.moment_label(at.astimezone(spec.zone))}"


def _headed(name: str, saying: str) -> str:
    return f"{name}: {saying}" if name else saying


def _sure(value: float) -> float:
    """A value without the figures that no label shows."""
    return float(f"{value:.{_SURE_FIGURES}g}") + 0.0

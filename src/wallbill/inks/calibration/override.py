"""The measured figures as a panel's profile in a wall: what was measured, and all that stood there before."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from wallbill.inks.calibration.fit import Fit
from wallbill.inks.calibration.light import Means

_N = "yule_nielsen_n"


@dataclass(frozen=True, slots=True)
class Measuring:
    """How and when figures were measured. ``means``: in the order in which they were used."""

    means: tuple[Means, ...]
    on: date

    def source(self, more: str = "") -> str:
        """The source line of a figure."""
        by = " and ".join(dict.fromkeys(str(one) for one in self.means))
        return f"measured {self.on.isoformat()} by {by}{more}"


def override_text(fit: Fit, measuring: Measuring, standing: Mapping[str, object]) -> str:
    """A profile in TOML with the measured figures.

    ``standing``: the values of the profile that it takes the place of, if any: what was not measured stays.
    """
    table = _copied(standing)
    sources = _copied(table.pop("sources", {}))
    own = {name.split(".")[1]: source for name, source in _flat_sources(sources) if name.startswith("ink.")}
    general = sources.pop("ink", None)
    ink_sources: dict[str, object] = dict(own)
    inks = _copied(table.pop("ink", {}))
    for name, old in inks.items():
        if isinstance(general, str) and name not in own and name not in fit.inks:
            ink_sources[name] = general
        inks[name] = _copied(old)
    for name, lab in fit.inks.items():
        inks[name] = {**_copied(inks.get(name, {})), "lab": [round(part, 2) for part in lab]}
        ink_sources[name] = measuring.source()
    if fit.n is not None:
        table[_N] = fit.n
        how = f"; steps of {fit.n_step:g}, {fit.residual():.1f} L* left on average" if fit.n_step else ""
        sources[_N] = measuring.source(how)
    if inks:
        table["ink"] = inks
    if ink_sources:
        sources["ink"] = ink_sources
    head = "# Measured with `wallbill panels calibrate`. Figures that it does not measure are as they were.\n"
    return head + "\n".join((*_lines(table), *_lines({"sources": sources}), ""))


def _copied(table: object) -> dict[str, object]:
    return dict(table) if isinstance(table, Mapping) else {}


def _flat_sources(table: Mapping[str, object], prefix: str = "") -> Iterator[tuple[str, str]]:
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _flat_sources(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", str(value)


def _lines(table: Mapping[str, object], path: Sequence[str] = ()) -> Iterator[str]:
    """A table as TOML: its values, then the tables in it."""
    values = {key: value for key, value in table.items() if not isinstance(value, Mapping)}
    tables = {key: value for key, value in table.items() if isinstance(value, Mapping)}
    if path and (values or not tables):
        yield ""
        yield f"[{'.'.join(map(_key, path))}]"
    for key, value in values.items():
        yield f"{_key(key)} = {_value(value)}"
    for key, inner in tables.items():
        yield from _lines(inner, (*path, key))


def _key(key: str) -> str:
    return (
        key
        if key.replace("-", "").replace("_", "").isalnum() and key.isascii()
        else json.dumps(key, ensure_ascii=False)
    )


def _value(value: object) -> str:
    """A value as TOML. A profile holds texts, numbers, true and false, and lists of them; JSON writes texts as TOML does."""
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(item) for item in value)}]"
    if isinstance(value, bool) or not isinstance(value, int | float):
        return json.dumps(value, ensure_ascii=False)
    return f"{value:g}" if isinstance(value, float) and float(f"{value:g}") == value else repr(value)

"""The keys of a source that only its kind knows: which may stand there, and where secrets do."""

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from wallbill.errors import WallError
from wallbill.places.faults import shown
from wallbill.places.toml import Places
from wallbill.places.words import closest, did_you_mean
from wallbill.sources.spec import Kind, Option
from wallbill.wall.secrecy import HIDE, has_password, is_reference, reference, reference_fault

COMMON = frozenset({"kind", "every", "good_for"})
_NEVER_PLAIN = re.compile(r"(?i)(password|token|api_?key|secret|authorization|cookie|x-[\w-]*key)")
_TYPES = ((str, "a text in quotes"), (bool, "true or false"), (int, "a whole number"), (float, "a number"),
          (list, "a list in [ ]"), (dict, "a table"))  # fmt: skip


def options_of(table: Mapping[str, object]) -> Mapping[str, object]:
    """The further keys of a source's table, read-only all the way down, secrets as `SecretRef`."""
    return MappingProxyType({key: _kept(value) for key, value in table.items() if key not in COMMON})


def _kept(value: object) -> object:
    if isinstance(value, Mapping):
        if (found := reference(value)) is not None:
            return found
        return {key: _kept(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_kept(inner) for inner in value]
    return value


def option_faults(
    name: str, table: Mapping[str, object], *, kinds: Mapping[str, Kind], places: Places
) -> Iterator[WallError]:
    """What is wrong with a source's kind and further keys, each with its place."""
    asked = table.get("kind")
    if not isinstance(asked, str):
        return  # said already, with the common keys
    kind = kinds.get(asked)
    if kind is None:
        yield WallError(
            f"there is no kind of source {asked!r}",
            where=places.place("sources", name, "kind"),
            mend=did_you_mean(asked, kinds),
        )
        return
    for key, value in table.items():
        if key not in COMMON:
            fault = _option_fault(key, value, kind)
            if fault:
                yield WallError(fault[0], where=places.place("sources", name, key), mend=fault[1])
            yield from _secret_faults(("sources", name, key), value, places)
    for what, mend in _absent(table, kind):
        yield WallError(what, where=places.place("sources", name), mend=mend)


def _option_fault(key: str, value: object, kind: Kind) -> tuple[str, str] | None:
    """What is wrong with one key, and the mend."""
    option = kind.option(key)
    if option is None:
        known = [*(one.name for one in kind.options), *COMMON]
        mend = (
            f"Did you mean {near!r}?" if (near := closest(key, known)) else f"Use {', '.join(sorted(known))}."
        )
        return f"unknown key {key!r} for a source of the kind {kind.name}", mend
    if is_reference(value):
        return None
    if not isinstance(value, option.types) or (isinstance(value, bool) and bool not in option.types):
        return f"{_safe(key, value)} is not {_types(option)}", f"Write {_types(option)}: {option.what}."
    if option.choices and value not in option.choices:
        return f"{_safe(key, value)} is none of {', '.join(option.choices)}", did_you_mean(
            str(value), option.choices
        )
    return None


def _safe(key: str, value: object) -> str:
    """A value that may be printed, or only its key where it may hold a secret."""
    return "the value" if _NEVER_PLAIN.search(key) or key == "url" else shown(value)


def _types(option: Option) -> str:
    return " or ".join(words for type_, words in _TYPES if type_ in option.types)


def _absent(table: Mapping[str, object], kind: Kind) -> Iterator[tuple[str, str]]:
    for option in kind.options:
        if option.required and option.name not in table:
            yield f"{option.name!r} is missing", f"Add {option.name} = …: {option.what}."
    given = [key for key in kind.one_of if key in table]
    if kind.one_of and len(given) != 1:
        choices = " or ".join(kind.one_of)
        what = (
            f"both {' and '.join(given)} are given"
            if given
            else f"neither {' nor '.join(kind.one_of)} is given"
        )
        yield what, f"Give exactly one of {choices}."


def _secret_faults(path: tuple[str | int, ...], value: object, places: Places) -> Iterator[WallError]:
    """Secrets that stand in the file, and references that cannot be read; no value is ever shown."""
    key = str(path[-1])
    if is_reference(value):
        if fault := reference_fault(value):
            yield WallError(fault[0], where=places.place(*path), mend=fault[1])
    elif isinstance(value, Mapping):
        for inner, part in value.items():
            yield from _secret_faults((*path, str(inner)), part, places)
    elif isinstance(value, list):
        for position, part in enumerate(value):
            yield from _secret_faults((*path, position), part, places)
    elif isinstance(value, str) and value and _NEVER_PLAIN.fullmatch(key):
        yield WallError(f"{key} stands in the file for all to read", where=places.place(*path), mend=HIDE)
    elif isinstance(value, str) and "@" in value and has_password(value):
        yield WallError(
            f"{key} holds a password", where=places.place(*path), mend=f"Take it out of the address. {HIDE}"
        )

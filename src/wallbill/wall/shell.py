"""Loading a wall folder from disk, its secrets from the environment or a secrets file; telling when its files change."""

import dataclasses
import os
import stat
import zoneinfo
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from zoneinfo import ZoneInfo

from wallbill.errors import Place, WallError
from wallbill.panels.shell import load_panels
from wallbill.places.shell import load_toml
from wallbill.places.toml import Places
from wallbill.places.words import did_you_mean
from wallbill.sources.spec import SourceSpec
from wallbill.wall.model import SecretRef, Wall
from wallbill.wall.reading import read_wall
from wallbill.wall.shell_watch import WallWatch, wall_digest
from wallbill.wall.tables import Known

__all__ = [
    "SECRETS_FILE",
    "WALL_FILE",
    "WallWatch",
    "load_secrets",
    "load_wall",
    "secret_names",
    "secret_value",
    "secrets_of",
    "wall_digest",
]

WALL_FILE = "wall.toml"
SECRETS_FILE = "secrets.toml"
_NOT_OWN = stat.S_IRWXG | stat.S_IRWXO


def load_wall(folder: Path) -> Wall:
    """The wall in ``folder``, read and checked: its settings, its own panels, and that its sheets are there.

    Raises `WallError` where there is no wall, `FaultList` with every fault of ``wall.toml`` or of ``panels/``.
    Secrets stay references; `load_secrets` looks them up.
    """
    places = load_toml(_wall_file(folder), file=WALL_FILE, fault=WallError)
    wall = read_wall(places, _known(folder), folder=folder)
    if secrets_of(wall):
        _secrets_file(folder)  # a secrets file that others can read is refused at once
    return wall


def _wall_file(folder: Path) -> Path:
    if folder.is_dir():
        if (folder / WALL_FILE).is_file():
            return folder / WALL_FILE
        raise WallError(
            "there is no wall.toml in this folder",
            where=Place(str(folder)),
            mend=f"Name the folder of a wall, or make a new one: wallbill new {folder / 'my-wall'}",
        )
    if folder.exists():
        hint = " itself, not its wall.toml" if folder.name == WALL_FILE else ""
        raise WallError(
            "this is not a folder", where=Place(str(folder)), mend=f"Name the wall's folder{hint}."
        )
    raise WallError("there is no such folder", where=Place(str(folder)), mend=_folder_mend(folder))


def _folder_mend(folder: Path) -> str:
    around = folder.parent
    walls = (
        [near.name for near in around.iterdir() if (near / WALL_FILE).is_file()] if around.is_dir() else []
    )
    return did_you_mean(
        folder.name, walls, else_=f"Check its name, or make a new wall: wallbill new {folder}"
    )


def _known(folder: Path) -> Known:
    sheets = folder / "sheets"
    return Known(
        panels=load_panels(folder / "panels"),
        zone=_zone,
        zones=zoneinfo.available_timezones,
        language=_language,
        sheets=frozenset(sheet.stem for sheet in sheets.glob("*.html")) if sheets.is_dir() else frozenset(),
    )


def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return None


def _language(name: str) -> str | None:
    # Babel is slow to import and only this needs it here.
    from babel.core import Locale, UnknownLocaleError  # noqa: PLC0415  see above

    try:
        return str(Locale.parse(name.replace("_", "-"), sep="-")).replace("_", "-")
    except (UnknownLocaleError, ValueError):
        return None


def secret_names(value: object) -> Iterator[str]:
    """The names of all secrets that a source's options refer to."""
    if isinstance(value, SecretRef):
        yield value.name
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from secret_names(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from secret_names(inner)


def _secrets_file(folder: Path) -> Places | None:
    """The secrets file if there is one; raises `WallError` if anyone but its owner can read or change it."""
    path = folder / SECRETS_FILE
    if not path.exists():
        return None
    if path.stat().st_mode & _NOT_OWN:
        raise WallError(
            f"{SECRETS_FILE} can be read by others (mode {stat.S_IMODE(path.stat().st_mode):04o})",
            where=Place(SECRETS_FILE),
            mend=f"Let only its owner read it: chmod 600 {path}",
        )
    return load_toml(path, file=SECRETS_FILE, fault=WallError)


def secrets_of(wall: Wall) -> tuple[str, ...]:
    """The names of all secrets that a wall refers to, each once: of its sources, its database and its notices."""
    mail = wall.watch.mail
    own = (wall.store.url, wall.watch.webhook, mail.password if mail else None)
    options = (spec.options for spec in wall.sources.values())
    return tuple(dict.fromkeys(name for value in (*options, *own) for name in secret_names(value)))


def load_secrets(
    wall: Wall, environment: Mapping[str, str] | None = None
) -> tuple[Mapping[str, SourceSpec], Mapping[str, WallError]]:
    """Every source with its secrets filled in, and what is wrong with those whose secrets are missing.

    ``environment``: looked in before the wall's ``secrets.toml``; the process's own if None. A source that lacks a
    secret is left out of the first mapping and named in the second, so that the others can still be fetched.
    """
    values = _Secrets(wall.folder, os.environ if environment is None else environment)
    found: dict[str, SourceSpec] = {}
    troubles: dict[str, WallError] = {}
    for name, spec in wall.sources.items():
        filled = {secret: values.get(secret) for secret in secret_names(spec.options)}
        missing = next((secret for secret, value in filled.items() if not value), None)
        if missing is not None:
            troubles[name] = _not_set(missing, spec.where)
        else:
            options = {key: _filled(value, filled) for key, value in spec.options.items()}
            found[name] = dataclasses.replace(spec, options=MappingProxyType(options))
    return MappingProxyType(found), MappingProxyType(troubles)


def secret_value(wall: Wall, given: str | SecretRef, environment: Mapping[str, str] | None = None) -> str:
    """A setting as it is, or the value of the secret that stands for it; looked up as `load_secrets` does.

    Raises `WallError` where the secret is not set.
    """
    if not isinstance(given, SecretRef):
        return given
    values = _Secrets(wall.folder, os.environ if environment is None else environment)
    if found := values.get(given.name):
        return found
    raise _not_set(given.name, Place(WALL_FILE, None, _setting(wall, given)))


def _setting(wall: Wall, given: SecretRef) -> str:
    """Where a wall refers to a secret of its own, for messages."""
    mail = wall.watch.mail
    fields = (
        ("store.url", wall.store.url),
        ("watch.webhook", wall.watch.webhook),
        ("watch.mail.password", mail.password if mail else None),
    )
    return next((field for field, value in fields if value == given), "")


def _not_set(secret: str, where: Place) -> WallError:
    return WallError(
        f"the secret {secret} is not set",
        where=where,
        mend=f'Set {secret} in the environment, or add {secret} = "…" to {SECRETS_FILE} (mode 0600).',
    )


class _Secrets:
    """Values of secrets: from the environment, else from a file handed over, else from the wall's own file.

    A service manager hands files over in the folder that CREDENTIALS_DIRECTORY names (systemd.exec(5),
    LoadCredential=). An empty value counts as none.
    """

    def __init__(self, folder: Path, environment: Mapping[str, str]) -> None:
        file = _secrets_file(folder)
        self._environment = environment
        self._handed = environment.get("CREDENTIALS_DIRECTORY", "")
        self._kept = (
            {name: value for name, value in file.values.items() if isinstance(value, str)} if file else {}
        )

    def get(self, name: str) -> str:
        """The value, "" if it is not set."""
        return self._environment.get(name) or self._from_file(name) or self._kept.get(name, "")

    def _from_file(self, name: str) -> str:
        if not self._handed:
            return ""
        try:
            return (Path(self._handed) / name).read_text(encoding="utf-8").removesuffix("\n")
        except (OSError, UnicodeDecodeError):
            return ""


def _filled(value: object, secrets: Mapping[str, str]) -> object:
    if isinstance(value, SecretRef):
        return secrets[value.name]
    if isinstance(value, Mapping):
        return {key: _filled(inner, secrets) for key, inner in value.items()}
    if isinstance(value, list):
        return [_filled(inner, secrets) for inner in value]
    return value

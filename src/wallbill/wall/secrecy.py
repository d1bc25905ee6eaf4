"""Secrets in a wall's file: references to them by name, and texts that should have been one."""

import re
from collections.abc import Mapping
from ipaddress import ip_address
from urllib.parse import parse_qsl, urlsplit

from wallbill.places.faults import wrong
from wallbill.wall.model import SecretRef

HIDE = "Write { secret = 'NAME' } and give NAME in the environment or in secrets.toml."
"""The mend for a secret that stands in the file."""

_SECRET = "secret"  # noqa: S105  the key's name, no secret
_NAME = re.compile(r"[A-Z][A-Z0-9_]*")
_NO_REFERENCE = "this is no reference to a secret"
_REFERENCE = "Write { secret = 'NAME' } alone, the name in capitals, digits and _."


def is_reference(value: object) -> bool:
    """Whether a value of the file is meant as a reference to a secret, be it right or wrong."""
    return isinstance(value, Mapping) and _SECRET in value


def reference(value: object) -> SecretRef | None:
    """The reference that a value of the file is; None for one that is wrong or no reference."""
    if not isinstance(value, Mapping) or set(value) != {_SECRET}:
        return None
    name = value[_SECRET]
    return SecretRef(name) if isinstance(name, str) and _NAME.fullmatch(name) else None


def reference_fault(value: object) -> tuple[str, str] | None:
    """What is wrong with a reference, and the mend; None for a good one."""
    return (_NO_REFERENCE, _REFERENCE) if reference(value) is None else None


def has_password(text: str) -> bool:
    """Whether an address holds a password, before its host or among its parameters."""
    try:
        parts = urlsplit(text)
        return parts.password is not None or any(
            key.casefold() in {"password", "sslpassword"} for key, _ in parse_qsl(parts.query)
        )
    except ValueError:
        return False


def secret_only(value: object) -> SecretRef:
    """A value that may only be given as a secret; it is never shown."""
    if not is_reference(value):
        raise wrong("this stands in the file for all to read", HIDE)
    return _checked(value)


def address(value: object, *, schemes: tuple[str, ...], example: str) -> str | SecretRef:
    """An address without a password, or a secret that holds one. ``schemes``: those that it may begin with.

    Addresses may hold secrets of all kinds, so that none is ever shown.
    """
    if is_reference(value):
        return _checked(value)
    mend = f"Write an address in quotes, such as {example!r}, or {{ secret = 'NAME' }}."
    if not isinstance(value, str) or value.strip() != value or not value.isprintable():
        raise wrong("the value is no address", mend)
    try:
        parts = urlsplit(value)
        _ = parts.port  # raises for one that is no number
    except ValueError as error:
        raise wrong("the value is no address", mend) from error
    if parts.scheme not in schemes:
        raise wrong(f"the address does not begin with {' or '.join(f'{each}://' for each in schemes)}", mend)
    if has_password(value):
        raise wrong("the address holds a password", f"Take it out of the address. {HIDE}")
    return value


def _checked(value: object) -> SecretRef:
    if (found := reference(value)) is None:
        raise wrong(_NO_REFERENCE, _REFERENCE)
    return found


def is_this_machine(host: str) -> bool:
    """Whether a host is this machine itself, so that nothing is overheard on the way."""
    try:
        return host.lower() == "localhost" or ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False

"""What a kind of source is, and the options that several kinds share; `spec.kinds` lists the kinds themselves."""

from dataclasses import dataclass
from datetime import timedelta


@dataclass(frozen=True, slots=True)
class Option:
    """One key that a source of a kind may have. ``types``: what TOML may give; ``choices``: the values, if few."""

    name: str
    what: str
    required: bool = False
    types: tuple[type, ...] = (str,)
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of source, for the check of a wall and for ``wallbill facts --kinds``.

    ``one_of``: exactly one of these keys must stand there; empty: no such rule. ``every``, ``good_for``: what
    holds where a wall says nothing.
    """

    name: str
    what: str
    options: tuple[Option, ...] = ()
    one_of: tuple[str, ...] = ()
    every: timedelta | None = None
    good_for: timedelta | None = None

    def option(self, name: str) -> Option | None:
        """The option of that name, or None."""
        return next((option for option in self.options if option.name == name), None)


FILE = Option("file", "a payload inside the wall folder, read in place of a URL")
URL = Option("url", "where to fetch it, http or https; the address is never printed")
FETCH = (
    Option("headers", "further request headers, as a table of texts", types=(dict,)),
    Option("user", "name for HTTP Basic authentication"),
    Option("password", "password for HTTP Basic authentication; give it as a secret"),
    Option("private_hosts", "names or addresses in your own network that it may reach", types=(list,)),
)


def fetched(name: str, what: str, *options: Option, every: timedelta, good_for: timedelta | None) -> Kind:
    """A kind that reads one payload, from an address or a file."""
    return Kind(name, what, (URL, FILE, *options, *FETCH), ("url", "file"), every=every, good_for=good_for)

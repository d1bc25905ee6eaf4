"""``[store]`` and ``[watch]`` of ``wall.toml`` as pydantic models: what the server keeps, and whom it tells."""

import re
from email.utils import parseaddr
from typing import Annotated, Literal

from pydantic import Field, PlainValidator, model_validator

from wallbill.places.faults import shown, wrong
from wallbill.wall.model import SecretRef, StoreSettings, WatchSettings
from wallbill.wall.secrecy import address, is_this_machine, secret_only
from wallbill.wall.table import Duration, Table, text

_DATABASES = ("postgresql", "postgres", "postgresql+psycopg", "sqlite")
_MAILBOX = re.compile(r"[^@\s<>,;:\"()\[\]\\]+@[^@\s<>,;:\"()\\]+")
_HOST = re.compile(r"[A-Za-z0-9_.:\[\]%-]{1,253}")
# Ports of mail submission: RFC 8314, sections 3.3 and 7.3 (465 with TLS, 587), RFC 5321 section 4.5.4.2 (25).
_PORTS = (("starttls", 587), ("tls", 465), ("none", 25))


def _database(value: object) -> str | SecretRef:
    return address(value, schemes=_DATABASES, example="postgresql://wallbill@db.example/wallbill")


def _webhook(value: object) -> str | SecretRef:
    return address(value, schemes=("https", "http"), example="https://notices.example/quay")


def _mailbox(value: object) -> str:
    mailbox = text(value, "keeper@fennel-quay.example")
    if not mailbox.isprintable() or not _MAILBOX.fullmatch(parseaddr(mailbox)[1]):
        raise wrong(
            f"{shown(mailbox)} is no mail address",
            "Write an address such as 'keeper@fennel-quay.example', or 'Fennel Quay <keeper@fennel-quay.example>'.",
        )
    return mailbox


def _host(value: object) -> str:
    host = text(value, "mail.example")
    if not _HOST.fullmatch(host):
        raise wrong(f"{shown(host)} is no name of a host", "Write its name alone, such as 'mail.example'.")
    return host


class StoreTable(Table):
    """``[store]``."""

    url: Annotated[str | SecretRef | None, PlainValidator(_database)] = None
    keep: Duration = StoreSettings().keep


class MailTable(Table):
    """``mail`` of ``[watch]``."""

    to: Annotated[list[Annotated[str, PlainValidator(_mailbox)]], Field(min_length=1)]
    sender: Annotated[str, PlainValidator(_mailbox)] = Field(alias="from")
    host: Annotated[str, PlainValidator(_host)]
    port: Annotated[int | None, Field(ge=1, le=65535)] = None
    security: Literal["starttls", "tls", "none"] = "starttls"
    user: str = ""
    password: Annotated[SecretRef | None, PlainValidator(secret_only)] = None

    @model_validator(mode="after")
    def _whole(self) -> "MailTable":
        if self.password is not None and not self.user:
            raise wrong("there is a password, but no user", "Add user = …, the name to log in with.")
        if self.user and self.password is None:
            raise wrong(
                "there is a user, but no password", "Add password = { secret = 'NAME' }, or take user away."
            )
        if self.user and self.security == "none" and not is_this_machine(self.host):
            raise wrong(
                f"the password would go to {self.host} for all to read",
                "Write security = 'starttls' or 'tls'.",
            )
        return self

    @property
    def port_or_usual(self) -> int:
        """The port; where none is said, the usual one for the security."""
        return dict(_PORTS)[self.security] if self.port is None else self.port


class WatchTable(Table):
    """``[watch]``."""

    webhook: Annotated[str | SecretRef | None, PlainValidator(_webhook)] = None
    mail: MailTable | None = None
    missed_wakes: Annotated[int, Field(ge=1, le=1000)] = WatchSettings().missed_wakes
    battery_ahead: Duration = WatchSettings().battery_ahead

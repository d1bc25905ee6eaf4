"""Certificates for TLS, read from files, and read again when they are renewed."""

import logging
import ssl
from dataclasses import dataclass
from pathlib import Path

from wallbill.errors import ListenError, Place

_LOG = logging.getLogger("wallbill.server.certificates")
_MUST_BE_OFF = 0o037  # others may do nothing with a key, its group may read it


@dataclass(frozen=True, slots=True)
class Certificate:
    """Files in PEM: the certificate with those that vouch for it, and its private key, which has no password."""

    chain: Path
    key: Path


class CertificateKeeper:
    """A TLS context (1.2 and up) that follows its files. Raises `ListenError` where they cannot be used at first."""

    def __init__(self, certificate: Certificate) -> None:
        self._certificate = certificate
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self.context.set_alpn_protocols(["http/1.1"])
        self._seen = self._changed()
        self._load()

    def look(self) -> None:
        """Takes a certificate that was renewed. One that cannot be used is told once, and the old one stays."""
        seen = self._changed()
        if seen == self._seen:
            return
        self._seen = seen
        try:
            self._load()
        except ListenError as error:
            _LOG.error("the new certificate cannot be used, the old one stays: %s", error)
        else:
            _LOG.info("the certificate was renewed: %s", self._certificate.chain)

    def _changed(self) -> tuple[tuple[int, int] | None, ...]:
        found: list[tuple[int, int] | None] = []
        for file in (self._certificate.chain, self._certificate.key):
            try:
                state = file.stat()
            except OSError:
                found.append(None)
            else:
                found.append((state.st_mtime_ns, state.st_ino))
        return tuple(found)

    def _load(self) -> None:
        chain, key = self._certificate.chain, self._certificate.key
        for file, what in ((chain, "certificate"), (key, "key")):
            _check_readable(file, what)
        mode = key.stat().st_mode
        if mode & _MUST_BE_OFF:
            raise ListenError(
                f"the private key may be read or written by others (mode {mode & 0o777:04o})",
                where=Place(str(key)),
                mend=f"chmod 600 {key}, and make it belong to the user who runs the server.",
            )
        # Tried on a context of its own first: one that fails half-way would leave the live one without a key.
        self._fill(ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER))
        self._fill(self.context)

    def _fill(self, context: ssl.SSLContext) -> None:
        chain, key = self._certificate.chain, self._certificate.key
        try:
            context.load_cert_chain(chain, key, password=_no_password)
        except _PasswordError:
            raise ListenError(
                "the private key has a password",
                where=Place(str(key)),
                mend="Give a key without one: openssl pkey -in KEY -out KEY.plain",
            ) from None
        except (ssl.SSLError, OSError) as error:
            reason = getattr(error, "reason", None) or str(error)
            mismatch = "KEY_VALUES_MISMATCH" in str(reason)
            raise ListenError(
                "the private key belongs to another certificate"
                if mismatch
                else f"certificate or key cannot be read as PEM ({reason})",
                where=Place(str(key if mismatch else chain)),
                mend="Give the certificate with its chain, and its own private key, both in PEM.",
            ) from error


class _PasswordError(Exception):
    """The key wants a password."""


def _no_password() -> str:
    raise _PasswordError


def _check_readable(file: Path, what: str) -> None:
    try:
        with file.open("rb") as stream:
            stream.read(1)
    except OSError as error:
        raise ListenError(
            f"the {what} cannot be read: {error.strerror}",
            where=Place(str(file)),
            mend=f"Check the path of the {what}, and that the user who runs the server may read it.",
        ) from error

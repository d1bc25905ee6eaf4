"""What a database or its driver says, as `StoreError`: what, where and the mend, without the address's secrets."""

from types import MappingProxyType
from typing import Any

from sqlalchemy.exc import DBAPIError, SQLAlchemyError, StatementError
from sqlalchemy.exc import TimeoutError as NoneFree

from wallbill.errors import StoreError
from wallbill.store.addresses import Address

_LITE = (
    ("SQLITE_BUSY", "another program holds the database", "Wait until it is done, or end it; then try again."),
    ("SQLITE_LOCKED", "another program holds the database", "Wait until it is done, or end it; then try again."),
    ("SQLITE_FULL", "the disk is full", "Make room on the disk; nothing that was stored is lost."),
    ("SQLITE_IOERR", "the disk refuses to read or write", "Make room on the disk, and see that it is sound."),
    ("SQLITE_CORRUPT", "the database file is damaged", "Put it aside and restore a backup: wallbill store restore."),
    ("SQLITE_NOTADB", "this file is no database", "Put it aside and restore a backup: wallbill store restore."),
    ("SQLITE_READONLY", "the database may not be written", "Let this user write the file and its folder."),
    ("SQLITE_CANTOPEN", "the database cannot be opened", "Let this user write the file and its folder."),
    ("SQLITE_PERM", "the database cannot be opened", "Let this user write the file and its folder."),
)  # fmt: skip
_REACH = "See that the server runs and can be reached; then try again."
_LET_IN = (
    "See that the server runs and has this database, and that the address names the right user and password."
)
_GREAT = (
    ("28", "the database does not let us in", "Check user and password of the address."),
    ("3D", "there is no such database on the server", "Create it: createdb NAME."),
    ("42501", "this user may not do that in the database", "Let the user own the database, or its schema."),
    ("53100", "the disk of the database is full", "Make room on the server's disk; nothing that was stored is lost."),
    ("53300", "the server has no connection left", "Raise its max_connections, or end what holds them."),
    ("53", "the server lacks the means", "Look at the server's log."),
    ("57014", "the database took too long and was stopped", "See what keeps the server busy; then try again."),
    ("55P03", "another program holds the database", "Wait until it is done, or end it; then try again."),
    ("57P", "the server is starting or stopping", _REACH),
    ("25006", "the database may not be written", "Name the server that may be written, not a copy of it."),
    ("08", "the server does not answer", _REACH),
)  # fmt: skip
_AGAIN = MappingProxyType(
    {
        "40001": "writers that met",
        "40P01": "writers that waited for each other",
        "23503": "a row that just went",
    }
)
_MOST = 300


def is_worth_retrying(fault: Exception) -> bool:
    """Whether a write that was rolled back may well go through when it is done anew at once."""
    return isinstance(fault, DBAPIError) and _state(fault.orig) in _AGAIN


def is_disconnection(fault: Exception) -> bool:
    """Whether the connection went while it was used."""
    return isinstance(fault, DBAPIError) and fault.connection_invalidated


def fault_of(fault: Exception, address: Address) -> Exception:
    """The `StoreError` for what went wrong; a mistake of our own callers (`ValueError`, `TypeError`) as it is."""
    match fault:
        case DBAPIError():
            return _said(fault.orig, address)
        case StatementError() if isinstance(fault.orig, ValueError | TypeError):
            return fault.orig
        case NoneFree():
            what, mend = "every connection to the database is in use", "Try again; see what keeps it busy."
        case OSError():
            what, mend = (
                f"it cannot be stored here: {fault.strerror}",
                "Let this user write there, and make room.",
            )
        case ImportError():
            what = "the driver for PostgreSQL is not installed"
            mend = "Install it with: pip install 'wallbill[postgresql]'."
        case SQLAlchemyError():
            what, mend = (
                f"the database cannot be asked: {_sifted(fault, address)}",
                "Check the store's address.",
            )
        case _:
            return fault
    return StoreError(what, where=address.place, mend=mend)


def _said(fault: Any, address: Address) -> StoreError:
    if isinstance(fault, StoreError):  # of our own, through the driver's hands
        return fault
    name = str(getattr(fault, "sqlite_errorname", ""))
    state = _state(fault)
    known = _LITE if address.path else _GREAT
    for begin, what, mend in known:
        if (name if address.path else state).startswith(begin):
            return StoreError(f"{what} ({_sifted(fault, address)})", where=address.place, mend=mend)
    if not address.path and not state:  # the driver's own words: no server has answered
        what = f"the server cannot be reached, or does not let us in ({_sifted(fault, address)})"
        return StoreError(what, where=address.place, mend=_LET_IN)
    return StoreError(
        f"the database refuses: {_sifted(fault, address)}",
        where=address.place,
        mend="Check it with: wallbill store check.",
    )


def _state(fault: Any) -> str:
    return str(getattr(fault, "sqlstate", None) or "")


def _sifted(fault: Any, address: Address) -> str:
    """One line of what was said, with nothing in it that opens the database."""
    diag = getattr(fault, "diag", None)
    said = getattr(diag, "message_primary", None) or str(fault)
    for secret in address.secrets:
        said = said.replace(secret, "…")
    return " ".join(said.split())[:_MOST]

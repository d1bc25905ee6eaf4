"""Types of columns: the same values come back from SQLite and from PostgreSQL."""

import json
import math
import re
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Any

from sqlalchemy import BigInteger, Dialect, LargeBinary, Text, TypeDecorator, types
from sqlalchemy.dialects import postgresql, sqlite

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_TICK = timedelta(microseconds=1)
_LARGEST = 2**63 - 1
_UNFIT = re.compile("[\0\ud800-\udfff]")


class Moment(TypeDecorator[datetime]):
    """An aware moment: microseconds since 1970 UTC on SQLite, ``timestamptz`` on PostgreSQL. Comes back in UTC."""

    impl = BigInteger
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> types.TypeEngine[Any]:
        """The type that the database knows."""
        if dialect.name == "postgresql":
            return dialect.type_descriptor(postgresql.TIMESTAMP(timezone=True))
        return dialect.type_descriptor(sqlite.INTEGER())

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:
        """The moment as it is written. Raises `ValueError` for one that names no zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a moment without a zone: {value}")
        return value if dialect.name == "postgresql" else (value - _EPOCH) // _TICK

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """The moment that was written, in UTC."""
        if value is None:
            return None
        moment: datetime = value.astimezone(UTC) if dialect.name == "postgresql" else _EPOCH + value * _TICK
        return moment


class Words(TypeDecorator[str]):
    """A text. What PostgreSQL or UTF-8 cannot hold (U+0000, half surrogates) becomes U+FFFD."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        """The text as it is written."""
        return None if value is None else storable(value)


class Whole(TypeDecorator[int]):
    """A whole number of up to 64 bits; one that is larger is not known."""

    impl = BigInteger
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> types.TypeEngine[Any]:
        """The type that the database knows."""
        return dialect.type_descriptor(sqlite.INTEGER() if dialect.name == "sqlite" else BigInteger())

    def process_bind_param(self, value: int | None, dialect: Dialect) -> int | None:
        """The number as it is written."""
        return None if value is None or abs(value) > _LARGEST else value


class Real(TypeDecorator[float]):
    """A number of double precision; NaN and infinities are not known."""

    impl = types.Double
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> types.TypeEngine[Any]:
        """The type that the database knows."""
        return dialect.type_descriptor(sqlite.REAL() if dialect.name == "sqlite" else types.Double())

    def process_bind_param(self, value: float | None, dialect: Dialect) -> float | None:
        """The number as it is written."""
        return None if value is None or not math.isfinite(value) else float(value)


class Listed(TypeDecorator[tuple[Any, ...]]):
    """Rows of texts or numbers, as JSON."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: tuple[Any, ...] | None, dialect: Dialect) -> str | None:
        """The JSON that is written: ASCII alone."""
        return None if value is None else json.dumps(value, separators=(",", ":"))

    def process_result_value(self, value: str | None, dialect: Dialect) -> tuple[Any, ...] | None:
        """The rows that were written."""
        return None if value is None else _frozen(json.loads(value))


class Word(TypeDecorator[StrEnum]):
    """One of a few words."""

    impl = Text
    cache_ok = True

    def __init__(self, words: type[StrEnum]) -> None:
        super().__init__()
        self.words = words

    def process_bind_param(self, value: StrEnum | None, dialect: Dialect) -> str | None:
        """The word as it is written."""
        return None if value is None else value.value

    def process_result_value(self, value: str | None, dialect: Dialect) -> StrEnum | None:
        """The word that was written."""
        return None if value is None else self.words(value)


class Blob(TypeDecorator[bytes]):
    """Bytes."""

    impl = LargeBinary
    cache_ok = True


def storable(text: str) -> str:
    """``text`` with U+FFFD for what neither PostgreSQL nor UTF-8 can hold."""
    return text if text.isascii() and "\0" not in text else _UNFIT.sub("\ufffd", text)


def _frozen(value: Any) -> Any:
    return tuple(_frozen(inner) for inner in value) if isinstance(value, list) else value

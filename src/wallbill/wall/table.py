"""What every table of ``wall.toml`` has in common: its strictness, and texts that are not empty."""

from datetime import timedelta
from typing import Annotated

from pydantic import BaseModel, ConfigDict, PlainValidator

from wallbill.places.faults import shown, wrong
from wallbill.wall import values


class Table(BaseModel):
    """A table with no key but those that are known, each of the type that is asked for."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


def text(value: object, example: str) -> str:
    """A text that says something; ``example``: what to write, for the mend."""
    if not isinstance(value, str) or not value.strip():
        raise wrong(f"{shown(value)} is not a text", f"Write a text in quotes, such as {example!r}.")
    return value


Duration = Annotated[timedelta, PlainValidator(values.duration)]

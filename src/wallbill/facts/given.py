"""What an own source gives: plain values, kept as they are, for sheets that know what they mean."""

from dataclasses import dataclass
from typing import Mapping

from wallbill.facts.origin import Origin

Plain = object
"""Text, number, truth, nothing, a date or time, or a tuple or mapping of these."""


@dataclass(frozen=True, slots=True)
class Given:
    """The value of an own source: read-only, made of text, numbers, dates, tuples and mappings."""

    origin: Origin
    value: Plain


Values = Mapping[str, Plain]

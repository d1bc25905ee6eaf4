"""What a display says of itself, read with care: it may be wrong, or lie."""

import re
from datetime import datetime
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from wallbill.errors import Place, WallbillError
from wallbill.store.model import Report

MOST_BYTES = 4096
"""The longest report that is read."""

_MOST_TEXT_CHARS = 100
_MOST_ERROR_CHARS = 500
_LONGEST_MS = 600_000

_UNFIT = re.compile(
    r"[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]+"
)
"""Control characters, and those that change the direction of whatever stands beside them (Unicode TR 36)."""


class ReportError(WallbillError):
    """A report that is not taken. ``status``: 400, 413 or 422 (RFC 9110). ``faults``: each field, and what is wrong."""

    def __init__(
        self, what: str, *, display: str, mend: str, status: int, faults: tuple[tuple[str, str], ...] = ()
    ) -> None:
        super().__init__(what, where=Place(display), mend=mend)
        self.status = status
        self.faults = faults


def _whole(value: object) -> object:
    """A number such as 3700.0 is a whole one: languages that know one kind of number write it so."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _plain(value: object) -> object:
    """A text in one line, without characters that could do harm where it is shown."""
    return " ".join(_UNFIT.sub(" ", value).split()) if isinstance(value, str) else value


def _cut(value: object) -> object:
    plain = _plain(value)
    return plain[:_MOST_TEXT_CHARS] if isinstance(plain, str) else plain


def _cut_long(value: object) -> object:
    plain = _plain(value)
    return plain[:_MOST_ERROR_CHARS] if isinstance(plain, str) else plain


_Time = Annotated[int, Field(ge=0, le=_LONGEST_MS), BeforeValidator(_whole)]
_Text = Annotated[str, BeforeValidator(_cut)]


class _Told(BaseModel):
    """A report, as a display sends it. Every field may be left out; fields of other names are passed over."""

    model_config = ConfigDict(strict=True, extra="ignore", allow_inf_nan=False, title="Report")

    shown: _Text | None = Field(None, description="Entity tag of what the panel shows.")
    refresh_ms: _Time | None = Field(None, description="How long the last refresh took, milliseconds.")
    join_ms: _Time | None = Field(None, description="How long joining the network took, milliseconds.")
    transfer_ms: _Time | None = Field(None, description="How long fetching the picture took, milliseconds.")
    battery_mv: Annotated[int, Field(ge=0, le=60_000), BeforeValidator(_whole)] | None = Field(
        None, description="Voltage of the battery under load, millivolts."
    )
    signal_dbm: Annotated[int, Field(ge=-150, le=30), BeforeValidator(_whole)] | None = Field(
        None, description="Strength of the radio signal received, dBm."
    )
    temperature_c: Annotated[float, Field(ge=-60, le=125)] | None = Field(
        None, description="Temperature at the panel, degrees Celsius."
    )
    woken_by: _Text | None = Field(None, description="What woke the device: timer, button or power.")
    agent: _Text | None = Field(None, description="Name and version of the program on the device.")
    error: Annotated[str, BeforeValidator(_cut_long)] | None = Field(
        None, description="What went wrong last, in a few words."
    )


def read_report(body: bytes, *, display: str, now: datetime) -> Report:
    """The report of a display that has shown its key. ``body``: JSON; ``now``: when it came, aware.

    Texts lose control characters and are cut short. Raises `ReportError` for what is too long (413), no JSON object (400),
    or holds a value that cannot be right (422): then none of it is taken, for who lies once may lie twice.
    """
    if len(body) > MOST_BYTES:
        raise too_long(display)
    try:
        told = _Told.model_validate_json(body)
    except ValidationError as error:
        raise _refused(error, display) from None
    return Report(display=display, at=now, **told.model_dump())


def too_long(display: str) -> ReportError:
    """What is said of a report that is longer than `MOST_BYTES`."""
    return ReportError(
        f"the report is longer than {MOST_BYTES} bytes",
        display=display,
        mend="Leave out what is long.",
        status=413,
    )


def report_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of a report."""
    return _Told.model_json_schema()


def _refused(error: ValidationError, display: str) -> ReportError:
    found = error.errors(include_url=False, include_context=True, include_input=False)
    if any(details["type"] in {"json_invalid", "model_type"} for details in found):
        return ReportError(
            "the report is no JSON object",
            display=display,
            mend='Send one such as {"battery_mv": 3700}.',
            status=400,
        )
    faults = tuple((".".join(map(str, details["loc"])), _wording(details)) for details in found)
    what = "; ".join(f"{name}: {fault}" for name, fault in faults)
    return ReportError(
        what, display=display, mend="Leave out what is not known for certain.", status=422, faults=faults
    )


def _wording(details: ErrorDetails) -> str:
    """What is wrong with a field, in a person's words."""
    limits = details.get("ctx", {})
    match details["type"]:
        case "greater_than_equal":
            return f"is less than {limits['ge']:g}"
        case "less_than_equal":
            return f"is more than {limits['le']:g}"
        case "int_type":
            return "is no whole number"
        case "float_type" | "finite_number":
            return "is no number"
        case "string_type":
            return "is no text"
    return str(details["msg"])

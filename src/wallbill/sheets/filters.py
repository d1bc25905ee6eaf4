"""The filters of a sheet: the wall's wording by the names that sheets use."""

from functools import partial
from typing import Any

from wallbill.units.wording import Wording


def filters_of(wording: Wording) -> dict[str, Any]:
    """The filters of a sheet: the wall's wording, by the names that sheets use."""
    return {
        "number": wording.number,
        "quantity": wording.quantity,
        "degrees": partial(wording.quantity, width="narrow"),
        "percent": wording.percent,
        "date": wording.date,
        "time": wording.time,
        "weekday": wording.weekday,
        "day_name": wording.day_name,
        "span": wording.span,
        "duration": wording.duration,
        "compass": wording.compass,
        "list_of": wording.list_of,
        "month": wording.month,
        "plural": wording.plural,
    }

"""Where calibration touches the disk: files of readings are read."""

from pathlib import Path

from wallbill.errors import PanelError, Place

_MOST_BYTES = 4_000_000  # a file of readings has a few hundred lines


def load_readings(path: Path) -> bytes:
    """The bytes of a file of readings. Raises `PanelError` where it cannot be read or is far too large."""
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except OSError as fault:
        raise PanelError(
            f"cannot be read: {fault.strerror or fault}", where=Place(str(path)), mend="Check the path."
        ) from fault
    if len(data) > _MOST_BYTES:
        raise PanelError(
            f"more than {_MOST_BYTES // 1_000_000} MB: these are no readings",
            where=Place(str(path)),
            mend="Give the CSV file with one line a reading.",
        )
    return data

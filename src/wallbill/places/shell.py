"""Reading a TOML file from disk, with a clear fault for everything that can be wrong with the file itself."""

from pathlib import Path

from wallbill.errors import Place, WallbillError
from wallbill.places.toml import Places, read_toml

_LARGEST_BYTES = 1 << 20  # a choice: no settings file written by hand comes near a mebibyte


def load_toml(path: Path, *, file: str, fault: type[WallbillError]) -> Places:
    """The values and places of a TOML file.

    ``file``: its name for messages. Raises ``fault`` if it cannot be read, is no UTF-8, or is no sound TOML.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise fault(
            f"cannot be read: {error.strerror or error}",
            where=Place(file),
            mend="Check that the file is there and that you may read it.",
        ) from error
    if len(data) > _LARGEST_BYTES:
        raise fault(
            f"is {len(data)} bytes long, more than the {_LARGEST_BYTES} that are read",
            where=Place(file),
            mend="Keep data in files of their own.",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise fault(
            f"holds the byte 0x{data[error.start]:02x}, which is not UTF-8",
            where=Place(file, line),
            mend="Save the file as UTF-8.",
        ) from error
    return read_toml(text, file=file, fault=fault)

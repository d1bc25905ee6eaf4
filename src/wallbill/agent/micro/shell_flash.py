"""What outlasts the sleep on flash, and the two ways of a picture: by way of a file, or straight into frame memory."""

import binascii
import hashlib
import json
import os

from twin_rules import TwinError

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, BinaryIO

    from twin_kinds import Driver

STEP_BYTES = 256


def load_settings(folder: str) -> "dict[str, Any]":
    """What ``settings.json`` in ``folder`` says, with the display's ``key`` and, for TLS, the certificate ``ca``.

    ``folder``: "" or a path with a slash at its end. Raises `OSError` for a file that is not there, `ValueError` for one that is spoilt.
    """
    with open(folder + "settings.json", "rb") as file:
        settings: dict[str, Any] = json.loads(file.read())
    with open(folder + "key", "rb") as file:
        settings["key"] = file.read(200).decode().strip()
    settings["ca"] = None
    if settings["tls"]:
        with open(folder + "ca.der", "rb") as file:
            settings["ca"] = file.read()
    return settings


def load_lines(path: str, count: int) -> list[str]:
    """The first lines of a file, without their ends. Raises `OSError` where it has fewer."""
    with open(path, "rb") as file:
        lines = file.read(1000).decode().split("\n")[:count]
    if len(lines) < count:
        raise OSError(f"{path} has fewer than {count} lines")
    return [line.rstrip("\r") for line in lines]


def settle(file: "BinaryIO") -> None:
    """Brings a written file onto the flash and closes it."""
    file.flush()
    if hasattr(os, "fsync"):
        os.fsync(file.fileno())
    file.close()
    if not hasattr(os, "fsync") and hasattr(os, "sync"):
        os.sync()


class FileKeep:
    """A few hundred bytes in a file that is written beside and then renamed."""

    def __init__(self, path: str) -> None:
        self._path = path

    def load(self) -> bytes:
        """What was saved last. Where renaming onto a file is two steps, a power cut may have left the new one only."""
        for path in (self._path, self._path + ".new"):
            try:
                with open(path, "rb") as file:
                    return file.read()
            except OSError:
                continue
        return b""

    def save(self, data: bytes) -> None:
        """Saves whole or not at all."""
        file = open(self._path + ".new", "wb")
        file.write(data)
        settle(file)
        os.rename(self._path + ".new", self._path)


class FilePicture:
    """A picture that waits in a file until its digest is known to be right; it can be shown again without the server."""

    lasts = True

    def __init__(self, path: str, driver: "Driver") -> None:
        self._path = path
        self._driver = driver
        self._file: Any = None

    def begin(self) -> None:
        """Begins the new file; the one before stays."""
        self._file = open(self._path + ".new", "wb")

    def take(self, block: memoryview) -> None:
        """Writes the next bytes."""
        self._file.write(block)

    def keep(self) -> None:
        """Puts the new file in the place of the one before."""
        settle(self._file)
        os.rename(self._path + ".new", self._path)

    def drop(self) -> None:
        """Takes the new file away."""
        if self._file is not None:
            self._file.close()
        try:
            os.remove(self._path + ".new")
        except OSError:
            pass

    def put_up(self, digest: str) -> None:
        """Reads the file into frame memory, and refreshes if what was read is what it should be."""
        block = bytearray(STEP_BYTES)
        view = memoryview(block)
        sha = hashlib.sha256()
        with open(self._path, "rb") as file:
            self._driver.begin()
            while True:
                size = file.readinto(block)
                if not size:
                    break
                sha.update(view[:size])
                self._driver.show(view[:size])
        if base64_of(sha.digest()) != digest:
            self._driver.abandon()
            raise TwinError("the picture on flash is spoilt")
        self._driver.commit()


class StraightPicture:
    """A picture that goes straight into frame memory: no flash is worn, and nothing is left to show it again from."""

    lasts = False

    def __init__(self, driver: "Driver") -> None:
        self._driver = driver

    def begin(self) -> None:
        """Wakes the panel."""
        self._driver.begin()

    def take(self, block: memoryview) -> None:
        """Hands the next bytes on."""
        self._driver.show(block)

    def keep(self) -> None:
        """Nothing to do: all is in frame memory."""

    def drop(self) -> None:
        """Puts the panel to sleep with what it shows."""
        self._driver.abandon()

    def put_up(self, digest: str) -> None:
        """Refreshes."""
        self._driver.commit()


def base64_of(data: bytes) -> str:
    """Bytes in base64, on one line."""
    return binascii.b2a_base64(data).decode().strip()

"""Payloads out of files of the wall folder."""

from pathlib import Path

from wallbill.errors import SourceError
from wallbill.sources.spec import SourceSpec


def read_files(spec: SourceSpec, folder: Path, most_bytes: int) -> bytes:
    """The payload of a source's ``file``, or of its ``files`` one after the other.

    Raises `SourceError` if one lies outside the wall folder, is not there, or if they are larger than ``most_bytes``.
    """
    named = spec.options.get("files", [spec.options.get("file")])
    if not isinstance(named, list) or not named or not all(isinstance(name, str) and name for name in named):
        raise SourceError(
            "its files are no names", where=spec.where, mend='Write files = ["first.gpx", "second.gpx"].'
        )
    bodies: list[bytes] = []
    for name in named:
        left_bytes = most_bytes - sum(map(len, bodies))
        bodies.append(_read_file(spec, folder, name, most_bytes=left_bytes))
    return b"\n".join(bodies)


def _read_file(spec: SourceSpec, folder: Path, name: str, *, most_bytes: int) -> bytes:
    try:
        path = (folder / name).resolve()
        inside = path.is_relative_to(folder.resolve())
        if not inside:
            raise SourceError(
                f"{name!r} lies outside the wall folder",
                where=spec.where,
                mend="Move or copy it into the wall folder.",
            )
        with path.open("rb") as file:
            body = file.read(most_bytes + 1)
    except (OSError, ValueError) as fault:
        why = fault.strerror if isinstance(fault, OSError) and fault.strerror else "no such name"
        raise SourceError(
            f"{name!r} cannot be read: {why.lower()}",
            where=spec.where,
            mend="Check the name; it is counted from the wall folder.",
        ) from None
    if len(body) > most_bytes:
        raise SourceError(
            f"{name!r} is larger than {most_bytes / 2**20:.3g} MiB",
            where=spec.where,
            mend="Give a shorter file.",
        )
    return body

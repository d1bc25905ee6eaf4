"""Readings of an instrument as spreadsheets write them: one row a reading, several readings a patch."""

import csv
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from wallbill.errors import FaultList, PanelError, Place
from wallbill.findings import Finding
from wallbill.inks.calibration.light import Light, lab_of, mean_light
from wallbill.inks.colour import D50
from wallbill.places.words import did_you_mean

APART = 2.0
"""CIELAB units by which readings of one patch may differ: twice what a hand-held colorimeter repeats to (common practice,
no source)."""

_SHAPES = (("l", "a", "b"), ("x", "y", "z"), ("r",))
_ALSO = MappingProxyType(
    {"l*": "l", "a*": "a", "b*": "b", "y%": "r", "r%": "r", "reflectance": "r", "name": "patch"}
)
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.IGNORECASE)
_MEND_HEAD = "Let the first line be patch,L,a,b or patch,R or patch,X,Y,Z."
_LOOK = "The names stand below the patches, and in target.json."
_FAR = ("a reading lies far from the others of its patch and is left out", "Read the patch again.")
_TWO = ("two readings of a patch lie apart", "Read it a third time, so that the odd one shows.")


@dataclass(frozen=True, slots=True)
class Readings:
    """The mean light of each patch that was read, by its name, and what was odd about the readings."""

    lights: Mapping[str, Light]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of the file: where it stands, its patch, and its numbers."""

    line: int
    patch: str
    numbers: tuple[float, ...]


def text_of(data: bytes, *, file: str) -> str:
    """The text of a file of readings, in UTF-8 or UTF-16, with or without its mark. Raises `PanelError`."""
    encoding = "utf-16" if data[:2] in {b"\xff\xfe", b"\xfe\xff"} else "utf-8-sig"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise PanelError(
            "this is not UTF-8", where=Place(file, line), mend="Save the readings as CSV in UTF-8."
        ) from error


def read_readings(text: str, names: Iterable[str], *, file: str) -> Readings:
    """The readings of a CSV text.

    ``names``: of the target's patches. Columns are parted by commas, semicolons or tabs; where commas do not part them,
    numbers may have decimal commas. ``R`` is 0 to 1 or hundredths, X, Y, Z likewise (D50); a file keeps to one scale.
    Raises `FaultList` with every fault.
    """
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise PanelError("there are no readings", where=Place(file), mend=_MEND_HEAD)
    table = _table(lines[0][1], names, where=Place(file, lines[0][0]))
    rows: list[_Row] = []
    faults: list[PanelError] = []
    for number, line in lines[1:]:
        try:
            rows.append(table.row(line, Place(file, number)))
        except PanelError as fault:
            faults.append(fault)
    if not rows and not faults:
        what, mend = "there are no readings below the columns' names", "Add a line for each reading."
        faults.append(PanelError(what, where=Place(file), mend=mend))
    scale = _scale(rows, table.shape)
    faults += _out_of_range(rows, table.shape, scale, file)
    if faults:
        raise FaultList(tuple(sorted(faults, key=lambda fault: fault.where.line or 0)))
    return _gathered(rows, table.shape, scale, file)


def _cells(line: str, comma: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line], delimiter=comma))]


def _table(line: str, names: Iterable[str], *, where: Place) -> "_Table":
    """How a file is written, from its first line. Raises `PanelError`."""
    comma = max(";\t,", key=lambda sign: (line.count(sign), sign != ","))
    words = (cell.casefold() for cell in _cells(line, comma))
    head = tuple(_ALSO.get(word, word) for word in words)
    shape = next((shape for shape in _SHAPES if {"patch", *shape} <= set(head)), None)
    if shape is None:
        what = f"the columns {', '.join(repr(word) for word in head)} are none that are known"
        raise PanelError(what, where=where, mend=_MEND_HEAD)
    return _Table(comma, head, shape, MappingProxyType({name.casefold(): name for name in names}))


@dataclass(frozen=True, slots=True)
class _Table:
    """How a file is written: what parts its columns, what they are, which of them count, and the patches there are."""

    comma: str
    head: tuple[str, ...]
    shape: tuple[str, ...]
    known: Mapping[str, str]

    def row(self, line: str, where: Place) -> _Row:
        """One row checked. Raises `PanelError`."""
        cells = _cells(line, self.comma)
        if len([cell for cell in cells if cell]) > len(self.head):
            decimals = "Write decimal points, or part the columns with semicolons."
            mend = decimals if self.comma == "," else "Take the extra columns away."
            what = f"{len(cells)} columns, the first line has {len(self.head)}"
            raise PanelError(what, where=where, mend=mend)
        by_name = dict(zip(self.head, cells, strict=False))
        written = by_name.get("patch", "")
        patch = self.known.get("-".join(written.casefold().split()))
        if patch is None:
            mend = did_you_mean(written, self.known.values(), else_=_LOOK)
            raise PanelError(f"there is no patch {written!r}", where=where, mend=mend)
        numbers = tuple(self._number(by_name.get(key, ""), key, where) for key in self.shape)
        return _Row(where.line or 0, patch, numbers)

    def _number(self, text: str, key: str, where: Place) -> float:
        bare = text.removesuffix("%").strip().replace("\N{MINUS SIGN}", "-")
        if self.comma != ",":
            bare = bare.replace(",", ".")
        if _NUMBER.fullmatch(bare):
            return float(bare)
        column = Place(where.file, where.line, key if key in {"a", "b"} else key.upper())
        if not text:
            raise PanelError("a number is missing", where=column, mend="Fill it in, or take the line away.")
        raise PanelError(f"{text!r} is no number", where=column, mend="Write a number.")


def _scale(rows: Sequence[_Row], shape: Sequence[str]) -> float:
    """What 1 is written as: 100 where numbers are hundredths."""
    if shape == _SHAPES[0]:
        return 1.0
    return 100.0 if max((max(row.numbers) for row in rows), default=0.0) > 1.5 else 1.0


def _out_of_range(
    rows: Sequence[_Row], shape: Sequence[str], scale: float, file: str
) -> Iterator[PanelError]:
    """Numbers that no patch of a panel can have."""
    for row in rows:
        if shape == _SHAPES[0]:
            lightness, *rest = row.numbers
            bad = not 0 <= lightness <= 100 or any(abs(part) > 150 for part in rest)
            limits = "L of 0 to 100, a and b of -150 to 150"
        else:
            bad = not all(0 <= part <= 1.1 * scale for part in row.numbers)
            limits = f"0 to {scale:g}, as the other lines have it"
        if bad:
            numbers = ", ".join(f"{part:g}" for part in row.numbers)
            yield PanelError(
                f"{numbers}: out of range", where=Place(file, row.line, row.patch), mend=f"Write {limits}."
            )


def _light(numbers: Sequence[float], shape: Sequence[str], scale: float) -> Light:
    if shape == _SHAPES[0]:
        lightness, a, b = numbers
        return Light((lightness, a, b))
    if shape == _SHAPES[1]:
        return Light(lab_of(np.array(numbers) / scale))
    return Light((lab_of(D50 * numbers[0] / scale)[0], 0.0, 0.0), has_colour=False)


def _gathered(rows: Sequence[_Row], shape: Sequence[str], scale: float, file: str) -> Readings:
    """Readings of a patch made one; one that lies far from the others of three or more is left out and told."""
    lights: dict[str, Light] = {}
    findings: list[Finding] = []
    for patch in dict.fromkeys(row.patch for row in rows):
        own = [row for row in rows if row.patch == patch]
        read = [_light(row.numbers, shape, scale) for row in own]
        apart = _apart(read)
        limit = max(APART, 4 * float(np.median(apart)))
        far = [at for at, distance in enumerate(apart) if len(own) > 2 and distance > limit]
        findings += [_told(Place(file, own[at].line, patch), apart[at], limit, _FAR) for at in far]
        if len(own) == 2 and 2 * max(apart) > APART:
            findings.append(_told(Place(file, own[1].line, patch), 2 * max(apart), APART, _TWO))
        lights[patch] = mean_light(tuple(light for at, light in enumerate(read) if at not in far))
    return Readings(MappingProxyType(lights), tuple(findings))


def _apart(read: Sequence[Light]) -> list[float]:
    """Distance of each reading from the middle of all, CIELAB units."""
    labs = np.array([light.lab for light in read])
    return [float(distance) for distance in np.linalg.norm(labs - np.median(labs, axis=0), axis=1)]


def _told(where: Place, measured: float, limit: float, words: tuple[str, str]) -> Finding:
    """The finding for readings that do not agree. ``words``: what is so, and the mend."""
    return Finding(
        rule="inks.readings-apart",
        where=where,
        what=words[0],
        measured=f"{measured:.1f}",
        limit=f"{limit:.1f}",
        unit="CIELAB",
        mend=words[1],
    )

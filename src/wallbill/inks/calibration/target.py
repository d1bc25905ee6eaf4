"""The target: sheets of patches made for one panel, whose dots are known to the pixel."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import count, islice
from types import MappingProxyType
from typing import Any

from wallbill.errors import PanelError
from wallbill.inks.calibration import marks
from wallbill.inks.calibration.layout import (
    Cell,
    Form,
    Frame,
    Lettering,
    Placed,
    Row,
    cell_boxes,
    frame_of,
    ghost_fields,
    place,
    split,
)
from wallbill.inks.calibration.patches import CELL, PERIOD_PX, Kind, Patch, by_written_light
from wallbill.inks.calibration.pencil import Pencil, Sheet
from wallbill.panels.model import Ink, Panel

_QUARTERS = (16, 32, 48)
_MANY = 8  # inks: from here on only black is mixed with white, greys lie too near to each other
_BARS = (range(20, 45, 2), range(20, 45, 4))  # of 64: from 31 to 69 hundredths
_RAMPS = (range(0, 65, 4), range(0, 65, 8))
_BETWEEN_PX = 6  # bars that are to be matched by eye stand apart by this, or more
_GHOSTS = (0, 32, 64)


@dataclass(frozen=True, slots=True, eq=False)
class Target:
    """The sheets for one panel. ``digest``: of the patches and their places, SHA-256 in hex; marks hold part of it.

    ``left_out``: what had no room, in words. ``white`` and ``black``: places of these inks.
    """

    panel: str
    inks: tuple[Ink, ...]
    white: int
    black: int
    frame: Frame
    patches: tuple[Patch, ...]
    sheets: tuple[Sheet, ...]
    digest: str
    left_out: tuple[str, ...] = ()

    @property
    def to_read(self) -> tuple[str, ...]:
        """Names of the patches that are read; bars are matched by eye."""
        return tuple(patch.name for patch in self.patches if patch.kind not in {Kind.BAR, Kind.EYE})

    @property
    def by_name(self) -> Mapping[str, Patch]:
        """The patches by their names."""
        return MappingProxyType({patch.name: patch for patch in self.patches})


def target_for(panel: Panel, lettering: Lettering) -> Target:
    """The target of a panel. The same panel gives the same sheets; how its inks were measured does not matter.

    Raises `PanelError` where the panel has too few pixels.
    """
    white, *_, black = by_written_light(panel.inks)
    plan = _Plan(panel.inks, white, black)
    size = (panel.width_px, panel.height_px)
    try:
        frame = frame_of(size, pitch_mm=panel.pitch_mm, lettering=lettering, names=plan.names())
    except ValueError as error:
        raise PanelError(str(error), mend="Measure a larger panel of the same inks.") from error
    placed, left_out = place(plan.rows(frame.columns), frame)
    patches = tuple(patch for one in placed for patch in plan.patches(one, frame))
    names = [ink.name for ink in panel.inks]
    digest = hashlib.sha256(repr((size, names, patches)).encode()).hexdigest()
    last = max(one.sheet for one in placed)
    pencil = Pencil(panel, (plan.white, plan.black), frame, lettering)
    sheets = tuple(
        pencil.sheet(
            marks.Mark(1, number, marks.target_number(digest)),
            of=last,
            placed=[one for one in placed if one.sheet == number],
            patches=[patch for patch in patches if patch.sheet == number],
        )
        for number in range(1, last + 1)
    )
    words = tuple(plan.words(row) for row in left_out)
    return Target(panel.name, panel.inks, plan.white, plan.black, frame, patches, sheets, digest, words)


@dataclass(frozen=True, slots=True)
class _Plan:
    """What a target of some inks holds. ``white`` and ``black``: places of these."""

    inks: tuple[Ink, ...]
    white: int
    black: int

    def mixed(self) -> tuple[int, ...]:
        """The inks that are mixed with white: black, then the others unless they are many greys."""
        others = tuple(at for at in range(len(self.inks)) if at not in {self.white, self.black})
        return (self.black, *(others if len(self.inks) < _MANY else ()))

    def _tints(self, ink: int) -> list[Cell]:
        name = self.inks[ink].name
        return [
            Cell(f"{name}-{kind[0]}{_hundredths(quarter)}", kind, ink, quarter)
            for kind in (Kind.FINE, Kind.CLUSTER)
            for quarter in _QUARTERS
        ]

    def _solid(self, ink: int, turn: int = 1) -> Cell:
        name = self.inks[ink].name
        return Cell(name if turn == 1 else f"{name}-{turn}", Kind.SOLID, ink, CELL)

    def names(self) -> tuple[str, ...]:
        """The names of the patches that are labelled, less those of white and black that stand again."""
        tints = (cell.name for ink in self.mixed() for cell in self._tints(ink))
        return (*(ink.name for ink in self.inks), *tints)

    def rows(self, columns: int) -> tuple[Row, ...]:
        """All rows in the order of their worth: what comes last is left out first."""
        order = by_written_light(self.inks)
        again = (self._solid(ink, turn) for turn in count(2) for ink in (self.white, self.black))
        whole = next((n for n in (2, 4, 8) if n >= len(order) and columns % n == 0), 0)
        short = (whole or -(-len(order) // columns) * columns) - len(order)
        solids = [*(self._solid(ink) for ink in order), *islice(again, short)]
        rows = [*split(solids, Form.SOLIDS, columns)]
        whites, blacks = count(2 + -(-short // 2)), count(2 + short // 2)
        for ink in self.mixed():
            cells = self._tints(ink)
            if columns >= len(cells) + 2:  # white and black stand at the ends of the row
                cells = [self._solid(self.white, next(whites)), *cells, self._solid(self.black, next(blacks))]
            rows += split(cells, Form.TINTS, columns)
        strips = (Row(form, ink) for form in (Form.EYE, Form.RAMP) for ink in self.mixed())
        return (*rows, *strips, Row(Form.GHOST))

    def words(self, row: Row) -> str:
        """What a row is, for a note that it was left out."""
        if row.cells:
            return ", ".join(cell.name for cell in row.cells)
        return (
            "the fields for ghosts"
            if row.form is Form.GHOST
            else f"the {row.form} strip of {self.inks[row.ink].name}"
        )

    def patches(self, placed: Placed, frame: Frame) -> Iterator[Patch]:
        """The patches of a row in its place."""
        match placed.row.form:
            case Form.EYE:
                yield from self._bars(placed, frame)
            case Form.RAMP:
                yield from self._ramp(placed)
            case Form.GHOST:
                yield from self._ghosts(placed, frame)
            case _:
                for cell, box in zip(placed.row.cells, cell_boxes(placed, frame), strict=True):
                    yield Patch(cell.name, cell.kind, cell.ink, self.white, cell.count, placed.sheet, box)

    def _bars(self, placed: Placed, frame: Frame) -> Iterator[Patch]:
        """The checker of an eye strip, then the bars that stand on it, numbered from 1."""
        ink, name = placed.row.ink, self.inks[placed.row.ink].name
        left, top, width, height = placed.box
        yield Patch(f"{name}-eye", Kind.EYE, ink, self.white, CELL // 2, placed.sheet, placed.box)
        counts = next(
            some for some in _BARS if width // len(some) >= 2.4 * frame.label_px or some is _BARS[-1]
        )
        step = width // len(counts)
        wide = (step - _BETWEEN_PX) // PERIOD_PX * PERIOD_PX
        left += (width - step * (len(counts) - 1) - wide) // 2
        inset = max(PERIOD_PX, height // 4 // PERIOD_PX * PERIOD_PX)
        for number, of_64 in enumerate(counts, 1):
            box = (left + (number - 1) * step, top + inset, wide, height - 2 * inset)
            yield Patch(f"{name}-bar-{number}", Kind.BAR, ink, self.white, of_64, placed.sheet, box, number)

    def _ramp(self, placed: Placed) -> Iterator[Patch]:
        """The steps of a ramp from white to its ink."""
        left, top, width, height = placed.box
        counts = next(some for some in _RAMPS if width // len(some) >= PERIOD_PX or some is _RAMPS[-1])
        for at, of_64 in enumerate(counts):
            start, end = (width * edge // len(counts) // PERIOD_PX * PERIOD_PX for edge in (at, at + 1))
            name = f"{self.inks[placed.row.ink].name}-r{_hundredths(of_64)}"
            box = (left + start, top, end - start, height)
            yield Patch(name, Kind.RAMP, placed.row.ink, self.white, of_64, placed.sheet, box)

    def _ghosts(self, placed: Placed, frame: Frame) -> Iterator[Patch]:
        """Three fields in halves: the left one was white before, the right one black."""
        for (left, top, width, height), of_64 in zip(ghost_fields(placed, frame), _GHOSTS, strict=True):
            for side, was in enumerate(("white", "black")):
                box = (left + side * width // 2, top, width // 2, height)
                name = f"ghost-{_hundredths(of_64)}-was-{was}"
                yield Patch(name, Kind.GHOST, self.black, self.white, of_64, placed.sheet, box)


def _hundredths(of_64: int) -> str:
    return f"{of_64 * 100 / CELL:02.0f}"


def record(target: Target, files: Mapping[int, Mapping[str, str]]) -> dict[str, Any]:
    """What a target holds, as plain values for JSON. ``files``: by the number of a sheet, what each holds."""
    return {
        "panel": target.panel,
        "digest": target.digest,
        "inks": [ink.name for ink in target.inks],
        "sheets": [
            {
                "sheet": sheet.number,
                "digest": sheet.impression.digest,
                "files": dict(files.get(sheet.number, {})),
            }
            for sheet in target.sheets
        ],
        "patches": [
            {
                "name": patch.name,
                "kind": str(patch.kind),
                "sheet": patch.sheet,
                "box_px": list(patch.box),
                "shares": shares_told(patch, target.inks),
            }
            for patch in target.patches
        ],
        "left_out": list(target.left_out),
    }


def shares_told(patch: Patch, inks: tuple[Ink, ...]) -> dict[str, float]:
    """The coverage of each ink of a patch, by name; they sum to 1."""
    found = {inks[patch.ink].name: patch.share, inks[patch.ground].name: 1 - patch.share}
    return {inks[patch.ink].name: 1.0} if patch.share == 1 else {k: v for k, v in found.items() if v}

"""Drawing a sheet of a target: its patches, its marks, and the type beside them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wallbill.inks.calibration import marks
from wallbill.inks.calibration.layout import Form, Frame, Lettering, Placed, cell_boxes, ghost_fields
from wallbill.inks.calibration.patches import CELL, Box, Kind, Patch, dots, tile
from wallbill.inks.impression import Codes, Impression, Mask, frozen_codes
from wallbill.panels.model import Panel

_KEY = (
    "f: dots of one pixel · c: clusters of 4 × 4 · then hundredths of ink on white",
    "f: dots of one pixel · c: clusters of 4 × 4",
    "f: fine · c: clusters",
)


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One picture to be shown. ``before``: what is shown before it, where ghosts are looked for."""

    number: int
    impression: Impression
    before: Impression | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Pencil:
    """Draws the sheets of one panel. ``ends``: places of white and of black."""

    panel: Panel
    ends: tuple[int, int]
    frame: Frame
    lettering: Lettering

    def sheet(
        self, mark: marks.Mark, *, of: int, placed: Sequence[Placed], patches: Sequence[Patch]
    ) -> Sheet:
        """A sheet whose number is in ``mark``, one of ``of``."""
        codes = np.full((self.panel.height_px, self.panel.width_px), self.ends[0], dtype=np.uint8)
        self._marks(codes, mark)
        self._lines(codes, f"{mark.sheet} of {of}")
        for patch in patches:
            if patch.kind is Kind.SOLID and patch.ink == self.ends[0]:
                self._outline(codes, patch.box)
        for one in placed:
            if one.row.form is Form.GHOST:
                self._outline(codes, ghost_fields(one, self.frame)[0])
        for patch in patches:
            lay(codes, patch)
        for one in placed:
            self._names(
                codes, one, [patch for patch in patches if patch.number and _inside(patch.box, one.box)]
            )
        before = self._before(codes, patches, mark)
        impression = Impression(frozen_codes(codes), self.panel.inks)
        return Sheet(mark.sheet, impression, before)

    def _before(self, codes: Codes, patches: Sequence[Patch], mark: marks.Mark) -> Impression | None:
        """The same sheet with what stands in the ghosts' fields before, and marks that say so."""
        ghosts = [patch for patch in patches if patch.kind is Kind.GHOST]
        if not ghosts:
            return None
        before = codes.copy()
        for patch in ghosts:
            lay(before, replace(patch, count=CELL if patch.name.endswith("black") else 0))
        self._marks(before, replace(mark, sheet=mark.sheet + marks.BEFORE))
        return Impression(frozen_codes(before), self.panel.inks)

    def _marks(self, codes: Codes, mark: marks.Mark) -> None:
        for corner in marks.CORNERS:
            left, top, side, _ = mark_box(corner, self.frame)
            dark = np.kron(
                marks.modules(replace(mark, corner=corner)),
                np.ones((self.frame.module_px, self.frame.module_px), dtype=np.bool_),
            )
            codes[top : top + side, left : left + side] = np.where(dark, self.ends[1], self.ends[0])

    def _outline(self, codes: Codes, box: Box) -> None:
        """A hairline around a patch of the ground's own ink, clear of it by a pixel."""
        left, top, width, height = box
        rim = codes[max(0, top - 2) : top + height + 2, max(0, left - 2) : left + width + 2]
        rim[0, :] = rim[-1, :] = rim[:, 0] = rim[:, -1] = self.ends[1]

    def _lines(self, codes: Codes, number: str) -> None:
        """What the sheet is, between the marks."""
        width, height = self.frame.size
        tile_px, quiet = self.frame.tile_px, self.frame.module_px * marks.QUIET_MODULES
        room = width - 2 * tile_px
        name = self.panel.name
        title = self._fitting(
            (f"{name} · sheet {number}", f"{name} · {number}", f"sheet {number}"), self.frame.title_px, room
        )
        if not self.frame.is_wide:
            self._type(codes, title, (tile_px, quiet // 2), room)
            return
        self._type(codes, title, (tile_px, (tile_px - title.shape[0]) // 2), room)
        foot = self._fitting(_KEY, self.frame.label_px, room)
        self._type(codes, foot, (tile_px, height - (tile_px + foot.shape[0]) // 2), room)

    def _fitting(self, texts: Sequence[str], size_px: int, room_px: int) -> Mask:
        """The first of the texts that has room, set; the last one cut where none has."""
        lines = [self.lettering(text, size_px=size_px) for text in texts]
        return next((line for line in lines if line.shape[1] <= room_px), lines[-1][:, :room_px])

    def _names(self, codes: Codes, placed: Placed, bars: Sequence[Patch]) -> None:
        """The type below a row's patches, and above those that are matched by eye."""
        left, top, width, height = placed.box
        below = top + height + 2
        name = self.panel.inks[placed.row.ink].name
        match placed.row.form:
            case Form.EYE:
                line = self._fitting(
                    (
                        f"{name}: which number is as light as the checker around it?",
                        f"{name}: which is as light?",
                        name,
                    ),
                    self.frame.label_px,
                    width,
                )
                self._type(codes, line, (left, top - line.shape[0] - 1), -1)
                for bar in bars:
                    self._type(codes, self._label(str(bar.number)), (bar.box[0], below), bar.box[2])
            case Form.RAMP:
                self._type(codes, self._label("white"), (left, below), -1)
                line = self._label(name)
                self._type(codes, line, (left + width - line.shape[1], below), -1)
            case Form.GHOST:
                names = ("ghost-0", "ghost-50", "ghost-100")
                for name, box in zip(names, ghost_fields(placed, self.frame), strict=True):
                    self._type(codes, self._label(name), (box[0], below), -1)
            case _:
                for cell, box in zip(placed.row.cells, cell_boxes(placed, self.frame), strict=True):
                    self._type(codes, self._label(cell.name), (box[0], below), -1)

    def _label(self, text: str) -> Mask:
        return self.lettering(text, size_px=self.frame.label_px)

    def _type(self, codes: Codes, line: Mask, at: tuple[int, int], centred_px: int) -> None:
        """A line of type, its left top corner ``at``; in the middle of ``centred_px`` from there, unless that is -1."""
        left, top = at
        if centred_px >= 0:
            left += (centred_px - line.shape[1]) // 2
        left = max(0, left)
        part = codes[top : top + line.shape[0], left : left + line.shape[1]]
        part[line[: part.shape[0], : part.shape[1]]] = self.ends[1]


def _inside(box: Box, other: Box) -> bool:
    """Whether a box begins inside another."""
    return other[0] <= box[0] < other[0] + other[2] and other[1] <= box[1] < other[1] + other[3]


def lay(codes: Codes, patch: Patch) -> None:
    """The dots of a patch, laid into ``codes`` (height, width), which may be written to."""
    left, top, width, height = patch.box
    set_ = tile(dots(patch.kind if patch.kind is not Kind.GHOST else Kind.FINE, patch.count), width, height)
    codes[top : top + height, left : left + width] = np.where(set_, patch.ink, patch.ground)


def mark_box(corner: int, frame: Frame) -> Box:
    """Where a corner's mark stands, without its clear zone."""
    width, height = frame.size
    quiet, side = frame.module_px * marks.QUIET_MODULES, frame.module_px * marks.MODULES
    left = quiet if corner in {1, 4} else width - quiet - side
    top = quiet if corner in {1, 2} else height - quiet - side
    return left, top, side, side

"""Pictures of the wall and of its albums, as sheets call them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from markupsafe import Markup

from wallbill.blocks.pictures.block import Caption, Look, Words, picture_block
from wallbill.blocks.pictures.cutting import MIDDLE, subject_of
from wallbill.blocks.pictures.toning import tones_of
from wallbill.errors import SheetError, SourceError
from wallbill.facts.album import Album, Shot
from wallbill.inks.pictures import open_picture
from wallbill.inks.toning import USUAL
from wallbill.places.words import a_kind, did_you_mean, shown
from wallbill.sheets.bench import Bench, gap
from wallbill.sheets.missing import Missing
from wallbill.sources.pictures import picture_details

_OPTIONS = (
    "subject",
    "tone",
    "caption",
    "caption_at",
    "caption_px",
    "caption_lines",
    "alt",
    "round_px",
    "frame_px",
)
_MOST_LINE_PX = 200


@dataclass(frozen=True, slots=True)
class Showing:
    """The function of a sheet that shows a picture."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the name that sheets call it by."""
        return {"picture": self.picture}

    def picture(
        self, what: Any, *, width_px: float, height_px: float, fit: str = "cover", **how: Any
    ) -> Markup:
        """A picture in a block of exactly this size in pixels; see ``docs/reference/pictures.md`` for what it takes.

        ``what``: a name under ``pictures/``, a shot of an album, or an album: the picture whose turn it is.
        Raises `SheetError` for what is not there or cannot be asked for, `PictureError` for what cannot be read.
        """
        room = (round(width_px), round(height_px))
        unknown = [name for name in how if name not in _OPTIONS]
        if unknown:
            raise SheetError(
                f"a picture takes no {unknown[0]!r}", mend=did_you_mean(unknown[0], ("fit", *_OPTIONS))
            )
        known = {name: value for name, value in how.items() if not isinstance(value, Missing)}
        if what is None or isinstance(what, Missing):
            return gap(*room)
        shot = self._shot(what)
        data = shot.data or self.bench.pictures.bytes_of(shot.name)
        words = self._caption(shot, data, known, height_px=room[1])
        told = str(known.get("alt") or (words and words.text) or shot.caption or shot.name.rsplit(".", 1)[0])
        return picture_block(
            open_picture(data, name=f"pictures/{shot.name}"),
            room,
            look=_look(fit, known),
            caption=words,
            words=Words(self.bench.ruler, self.bench.palette, told),
        )

    def _shot(self, what: Any) -> Shot:
        if isinstance(what, Shot):
            return what
        if isinstance(what, Album):
            return what.today(self.bench.now)
        if isinstance(what, str):
            return Shot(what)
        raise SheetError(
            f"a picture is a name or a shot of an album, not {a_kind(type(what))}",
            mend='Write picture("harbour.jpg", …) or picture(facts.NAME.today(now), …).',
        )

    def _caption(self, shot: Shot, data: bytes, how: Mapping[str, Any], *, height_px: int) -> Caption | None:
        """The words that are asked for; ``caption=true``: the picture's own, with the day on which it was taken."""
        asked = how.get("caption")
        size = how.get("caption_px")
        lines = how.get("caption_lines", 1)
        if isinstance(lines, bool) or not isinstance(lines, int):
            raise SheetError(
                f"caption_lines is a whole number, not {shown(lines)}", mend="Write caption_lines=2."
            )
        wanted = Caption(
            "",
            place=str(how.get("caption_at", "under")),
            size_px=self.bench.label_px(height_px) if size is None else round(size),
            lines=lines,
        )
        text = self._own(shot, data) if asked is True else str(asked or "")
        if not text.strip():
            return None
        return replace(wanted, text=" ".join(text.split()))

    def _own(self, shot: Shot, data: bytes) -> str:
        caption, taken = shot.caption, shot.taken
        if not caption or taken is None:
            try:
                details = picture_details(data, shot.name)[1]
            except SourceError:  # what cannot be read is told when it is opened
                details = {}
            caption = caption or details.get("caption", "")
            taken = taken or _day(details.get("taken", ""))
        return ", ".join(part for part in (caption, self.bench.wording.date(taken) if taken else "") if part)


def _look(fit: str, how: Mapping[str, Any]) -> Look:
    subject = how.get("subject")
    return Look(
        subject=MIDDLE if subject is None else subject_of(subject),
        fit=fit,
        tones=tones_of(str(how.get("tone", USUAL))),
        round_px=_length(how, "round_px", most_px=None),
        frame_px=_length(how, "frame_px", most_px=_MOST_LINE_PX),
    )


def _length(how: Mapping[str, Any], name: str, *, most_px: int | None) -> int:
    value = how.get(name) or 0
    if not isinstance(value, int | float) or value < 0 or (most_px is not None and value > most_px):
        raise SheetError(
            f"{name} is a number of pixels, got {shown(value)}",
            mend=f"Write {name}=1 or more, or leave it out.",
        )
    return round(value)


def _day(told: str) -> date | None:
    return date.fromisoformat(told) if told else None

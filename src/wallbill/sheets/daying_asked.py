"""What sheets ask of blocks of time, read and checked."""

from collections.abc import Mapping, Sequence
from typing import Any

from wallbill.blocks.days.look import MORE_TEXT, Look
from wallbill.errors import SheetError
from wallbill.places.words import did_you_mean, shown
from wallbill.sheets.bench import Bench

_EVERY = ("width_px", "height_px", "label_px", "now", "title", "more_text")


def look_of(bench: Bench, size_px: tuple[float, float], how: dict[str, Any], *, block: str) -> Look:
    """What every block of time is asked to be; takes what it knows out of ``how``.

    ``size_px``: its width and height. ``block``: what it is, with its article, for what it has to say.
    """
    width_px, height_px = size_px
    label_px = how.pop("label_px", None)
    label_px = bench.label_px(height_px) if label_px is None else round(label_px)
    bench.check_type(label_px, block=block)
    more_text = str(how.pop("more_text", None) or MORE_TEXT)
    if "{count}" not in more_text:
        raise SheetError(
            f"more_text has no {{count}} in it: {shown(more_text)}",
            mend='Write more_text="and {count} more".',
        )
    return Look(
        width_px=round(width_px),
        height_px=round(height_px),
        wording=bench.wording,
        palette=bench.palette,
        ruler=bench.ruler,
        now=how.pop("now", bench.now),
        label_px=label_px,
        title=str(how.pop("title", None) or ""),
        more_text=more_text,
    )


def none_left(how: Mapping[str, Any], block: str, *, takes: Sequence[str]) -> None:
    """Raises `SheetError` for arguments that no block of time of that name takes. ``takes``: those it does."""
    for name in how:
        raise SheetError(f"{block} takes no {name!r}", mend=did_you_mean(name, (*_EVERY, *takes)))

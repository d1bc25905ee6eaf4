"""What sheets ask of blocks of time, read and checked."""

from collections.abc import Mapping
from typing import Any

from wallbill.blocks.days.look import Look
from wallbill.errors import SheetError
from wallbill.sheets.bench import Bench


def look_of(bench: Bench, size_px: tuple[float, float], how: dict[str, Any], *, block: str) -> Look:
    """What every block of time is asked to be; takes what it knows out of ``how``.

    ``size_px``: its width and height. ``block``: what it is, with its article, for what it has to say.
    """
    width_px, height_px = size_px
    size = {"label_px": round(how.pop("label_px", bench.label_px(height_px)))}
    bench.check_type(size["label_px"], block=block)
    known = {name: how.pop(name) for name in ("title", "more_text") if name in how}
    return Look(
        width_px=round(width_px),
        height_px=round(height_px),
        wording=bench.wording,
        palette=bench.palette,
        ruler=bench.ruler,
        now=how.pop("now", bench.now),
        **size,
        **known,
    )


def none_left(how: Mapping[str, Any], block: str) -> None:
    """Raises `SheetError` for arguments that no block of time of that name takes."""
    if how:
        raise SheetError(
            f"{block} takes no {', '.join(sorted(how))}", mend="See docs/reference/days.md for what it takes."
        )

"""Codes that a camera reads, as sheets call them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from markupsafe import Markup

from wallbill.blocks.codes.code128 import code128
from wallbill.blocks.codes.ean import ean13
from wallbill.blocks.codes.gs1 import gs1_128
from wallbill.blocks.codes.linear import LEAST_TYPE_PX, BarSize, bar_code, module_of
from wallbill.blocks.codes.payloads import contact_text, geo_text, mail_text, phone_text, wifi_text
from wallbill.blocks.codes.qr import LEVELS, qr_grid, qr_module_px, qr_modules, qr_reading_distance
from wallbill.blocks.codes.scanning import dark_on_light, reading_distance
from wallbill.blocks.drawing.svg import to_svg
from wallbill.errors import Place, SheetError
from wallbill.findings import Finding
from wallbill.places.words import did_you_mean, shown
from wallbill.sheets.bench import Bench, gap
from wallbill.sheets.missing import Missing

KINDS = MappingProxyType({"code128": code128, "gs1": gs1_128, "ean13": ean13})
"""Kinds of bar codes by the names that sheets call them by."""

_LABEL_SHARE = 4  # type below the bars takes no more than this part of the block's height
_USUAL_MODULES = 33  # of a QR code with its quiet zone, where its text is not there


@dataclass(frozen=True, slots=True)
class Codes:
    """The functions of a sheet that draw codes, and those that word what a code says."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {
            "qr": self.qr,
            "barcode": self.barcode,
            "wifi_text": _of_known(wifi_text),
            "contact_text": _of_known(contact_text),
            "geo_text": _of_known(geo_text),
            "mail_text": _of_known(mail_text),
            "phone_text": _of_known(phone_text),
        }

    def qr(
        self,
        text: Any,
        *,
        size_px: float | None = None,
        module_px: float | None = None,
        level: str = "M",
        **how: Any,
    ) -> Markup:
        """A QR code; see `wallbill.blocks.codes.qr.qr_grid`.

        Further: ``title``, the text alternative where it is not the code's own text, as for a password;
        ``scan_from_m``, from where it is scanned where that is not from where the display is read.
        """
        title, scan_from_m = how.pop("title", None), how.pop("scan_from_m", None)
        _refuse_unknown(how, "a qr code")
        side, module_px = _whole(size_px), _whole(module_px)
        if (side is None) == (module_px is None):
            raise SheetError(
                "a qr code has either a size_px or a module_px",
                mend="Write one of them: module_px=3 is 3 px a module.",
            )
        if level not in LEVELS:
            raise SheetError(
                f"a qr code has no level {level!r}", mend=f"Write one of {', '.join(LEVELS)}; M is usual."
            )
        if text is None or isinstance(text, Missing):
            usual = side if side is not None else _USUAL_MODULES * max(1, module_px or 1)
            return gap(usual, usual)
        words = _words(text, "a qr code")
        title = title if title is None else str(title)
        grid = qr_grid(words, size_px=side, module_px=module_px, level=level)
        self._note(
            qr_reading_distance(
                qr_modules(words, level=level),
                module_px=qr_module_px(words, size_px=side, module_px=module_px, level=level),
                pitch_mm=self.bench.sight.pitch_mm,
                distance_m=self._distance_m(scan_from_m),
                where=_place("qr", words if title is None else title),
            )
        )
        return to_svg(grid, dark_on_light(self.bench.palette), title=words if title is None else title)

    def barcode(
        self,
        text: Any,
        *,
        height_px: float,
        width_px: float | None = None,
        module_px: float | None = None,
        **how: Any,
    ) -> Markup:
        """A bar code of ``kind`` code128 (if not given), gs1 or ean13, with its text in type below the bars.

        ``label_px``: size of that type, 0 for none. ``scan_from_m``: as for `qr`.
        Raises `SheetError` for what the kind cannot hold or the box has no room for.
        """
        scan_from_m, kind = how.pop("scan_from_m", None), how.pop("kind", "code128")
        label_px = how.pop("label_px", None)
        _refuse_unknown(how, "a bar code")
        height, width, module_px = round(height_px), _whole(width_px), _whole(module_px)
        if text is None or isinstance(text, Missing):
            return gap(width if width is not None else height, height)
        if kind not in KINDS:
            raise SheetError(f"there is no bar code of kind {kind!r}", mend=did_you_mean(str(kind), KINDS))
        bars = KINDS[kind](_words(text, "a bar code"))
        usual = max(LEAST_TYPE_PX, min(self.bench.label_px(height), height // _LABEL_SHARE))
        size = BarSize(height, width, module_px, usual if label_px is None else round(label_px))
        drawn = bar_code(bars, size, palette=self.bench.palette, ruler=self.bench.ruler)
        self._note(
            reading_distance(
                bars.modules,
                module_px=module_of(bars, size),
                pitch_mm=self.bench.sight.pitch_mm,
                distance_m=self._distance_m(scan_from_m),
                where=_place("barcode", bars.text),
            )
        )
        return drawn

    def _distance_m(self, scan_from_m: Any) -> float:
        if scan_from_m is None or isinstance(scan_from_m, Missing):
            return self.bench.sight.read_from_m
        if isinstance(scan_from_m, bool) or not isinstance(scan_from_m, int | float) or not scan_from_m > 0:
            raise SheetError(
                f"scan_from_m is a number of metres above 0, not {shown(scan_from_m)}",
                mend="Write scan_from_m=0.3.",
            )
        return float(scan_from_m)

    def _note(self, findings: tuple[Finding, ...]) -> None:
        for finding in findings:
            self.bench.note(finding)


def _whole(pixels: float | None) -> int | None:
    return None if pixels is None else round(pixels)


def _words(text: Any, what: str) -> str:
    """What a code says. Raises `SheetError` for what is no text, number or date."""
    if isinstance(text, bool) or not isinstance(text, str | int | float | Decimal | date):
        raise SheetError(
            f"{what} holds a text, not {shown(text)}", mend="Hand it a part of the fact, such as its url."
        )
    return text.isoformat() if isinstance(text, date) else str(text)


def _refuse_unknown(how: Mapping[str, Any], what: str) -> None:
    if how:
        raise SheetError(
            f"{what} takes no {', '.join(sorted(how))}", mend="See docs/reference/codes.md for what it takes."
        )


def _place(function: str, words: str) -> Place:
    """Which code of a sheet it is: the sheet itself is known to the caller."""
    return Place(field=f'{function}("{words[:40]}{"…" if len(words) > 40 else ""}")')


def _of_known(word: Callable[..., str]) -> Callable[..., str | None]:
    """A wording that gives None where one of its facts is not there, so that the code becomes a gap."""

    def worded(*args: Any, **kwargs: Any) -> str | None:
        if any(value is None or isinstance(value, Missing) for value in (*args, *kwargs.values())):
            return None
        try:
            return word(*args, **kwargs)
        except TypeError as error:
            raise SheetError(
                f"{word.__name__}: {error}", mend="See docs/reference/codes.md for what it takes."
            ) from error

    return worded

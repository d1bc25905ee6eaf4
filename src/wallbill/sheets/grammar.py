"""Charts in the grammar of graphics as sheets call them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from wallbill.blocks.grammar.rows import Row, rows_of
from wallbill.blocks.grammar.spec import Look, read_spec
from wallbill.errors import SheetError
from wallbill.places.words import did_you_mean, shown
from wallbill.sheets.bench import Bench, gap
from wallbill.sheets.missing import Missing
from wallbill.units.quantity import Quantity

_LINE_PX = 3


@dataclass(frozen=True, slots=True)
class Grammar:
    """The function of a sheet that draws whatever a spec in Vega-Lite says."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {"vega_lite": self.vega_lite}

    def vega_lite(
        self, spec: Any, *, width_px: float, height_px: float, data: Any = (), **how: Any
    ) -> Markup:
        """A chart of ``spec``, a mapping or the name of a JSON file in ``sheets/``, drawn of ``data``.

        ``data``: facts, rows, or a mapping of several sets by the names that the spec calls them by; a gap gives an
        empty place. ``label_px``, ``line_px``: as in the other charts. Raises `SheetError` for what cannot be drawn.
        """
        if data is None or isinstance(data, Missing) or isinstance(spec, Missing):
            return gap(round(width_px), round(height_px))
        from wallbill.blocks.grammar import chart  # noqa: PLC0415  only a wall that draws such charts pays for it

        bench = self.bench
        written, file = self._spec(spec)
        look = Look(
            width_px=round(width_px),
            height_px=round(height_px),
            label_px=round(how.pop("label_px", bench.label_px(height_px))),
            line_px=round(how.pop("line_px", _LINE_PX)),
        )
        if how:
            raise SheetError(
                f"vega_lite knows no {', '.join(sorted(how))}",
                mend="Say it in the spec; beside it there are label_px and line_px.",
            )
        setting = chart.Setting(
            bench.palette, bench.ruler, bench.wording.language, str(bench.wording.zone), file
        )
        made = chart.vega_lite_drawing(
            written, self._data(data), look=look, setting=setting, engrave=bench.engrave
        )
        for finding in made.findings:
            bench.note(finding)
        return chart.vega_lite(made, palette=bench.palette, label_px=look.label_px)

    def _spec(self, spec: Any) -> tuple[Mapping[str, Any], str]:
        """The spec and the file that it stands in, "" for one of the sheet's own."""
        if isinstance(spec, Mapping):
            return spec, ""
        texts = self.bench.texts
        if not isinstance(spec, str) or spec not in texts:
            known = [name for name in texts if name.endswith(".json")]
            raise SheetError(
                f"there is no spec {shown(spec)} in sheets/",
                mend=did_you_mean(
                    str(spec), known, else_="Put the JSON file there and name it with its ending."
                ),
            )
        file = f"sheets/{spec}"
        return read_spec(texts[spec], file=file), file

    def _data(self, data: Any) -> list[Row] | Mapping[str, list[Row]] | None:
        if isinstance(data, Mapping):
            return {str(name): rows_of(rows, figure=self._figure) for name, rows in data.items()}
        return rows_of(data, figure=self._figure) or None

    def _figure(self, quantity: Quantity) -> float:
        """The number of a quantity in the wall's unit for its kind."""
        return quantity.to(self.bench.wording.units.get(quantity.kind, quantity.unit)).value

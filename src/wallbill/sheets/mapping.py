"""Maps as sheets call them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from wallbill.blocks.maps.spec import MapSpec, Measure, Sea
from wallbill.blocks.maps.travel import travel_map
from wallbill.facts.track import Track
from wallbill.sheets.bench import Bench, gap, is_gap


@dataclass(frozen=True, slots=True)
class Maps:
    """The functions of a sheet that draw where a journey went."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {"travel_map": self.travel_map}

    def travel_map(self, tracks: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Tracks on a map that they fill; see `wallbill.blocks.maps.travel.travel_map`."""
        known = tracks if isinstance(tracks, tuple) else (tracks,)
        mend = "facts.NAME of a source of kind track, or several in a row"
        travels = tuple(track for track in known if not is_gap(track, Track, block="a map", mend=mend))
        if not travels:
            return gap(round(width_px), round(height_px))
        how = {name: round(value) if name.endswith("_px") else value for name, value in how.items()}
        for name, kind in (("scale", Measure), ("sea", Sea)):
            if name in how:
                how[name] = kind(how[name])
        how.setdefault("label_px", self.bench.label_px(height_px))
        spec = MapSpec(
            width_px=round(width_px),
            height_px=round(height_px),
            coast=self.bench.coast(),
            ruler=self.bench.ruler,
            **how,
        )
        return travel_map(travels, spec=spec, palette=self.bench.palette)

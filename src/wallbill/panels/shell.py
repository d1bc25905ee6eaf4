"""Panel profiles from the package's data files and a wall's own ``panels/`` folder."""

import re
from collections.abc import Iterator, Mapping
from functools import cached_property
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType

from wallbill.errors import FaultList, PanelError, Place, WallbillError
from wallbill.panels.layer import Figures, LayerTable, figures_of, read_layer, stated_sources
from wallbill.panels.model import Panel
from wallbill.panels.profile import layered, panel_of
from wallbill.places.shell import load_toml
from wallbill.places.toml import Places, read_toml
from wallbill.places.words import did_you_mean

_NAME = re.compile(r"[a-z0-9][a-z0-9.-]*")


class _Built:
    """The package's own profiles. A file is read when a panel of it is first asked for."""

    def __init__(self) -> None:
        self._data = resources.files("wallbill.panels") / "data"
        self._kept: dict[str, Figures] = {}

    @cached_property
    def glasses(self) -> Mapping[str, Traversable]:
        """The file of each glass by its name, such as ``5.8in-648x480``."""
        files = [file for file in (self._data / "glass").iterdir() if file.name.endswith(".toml")]
        return {file.name.removesuffix(".toml"): file for file in sorted(files, key=_by_size)}

    @cached_property
    def classes(self) -> Places:
        """What panels of the same inks share, as its file has it."""
        return self._read(self._data / "classes.toml")

    @cached_property
    def inks(self) -> Figures:
        """The inks that panels show."""
        places = self._read(self._data / "inks.toml")
        return figures_of(read_layer(places), places)

    @cached_property
    def class_names(self) -> tuple[str, ...]:
        """What inks a panel may have, as profiles call them."""
        return tuple(name for name in self.classes.values if name not in {"any", "sources"})

    def _read(self, file: Traversable) -> Places:
        return read_toml(file.read_text(encoding="utf-8"), file=file.name, fault=PanelError)

    def class_figures(self, name: str) -> Figures:
        """The inks and what panels of the class ``name`` share."""
        if name not in self._kept:
            self._kept[name] = layered(self.inks, _part(self.classes, "any"), _part(self.classes, name))
        return self._kept[name]

    def glass_figures(self, glass: str) -> Mapping[str, Figures]:
        """The figures of every panel of a glass, by the panel's name."""
        places = self._read(self.glasses[glass])
        shared = _part(places, "glass")
        return {
            f"{glass}-{inks}": layered(self.class_figures(inks), shared, _part(places, "panels", inks))
            for inks in _table(places, "panels")
        }

    def figures(self, name: str) -> Figures | None:
        """The figures of one panel, or None if there is no such panel."""
        glass = next((glass for glass in self.glasses if name.startswith(f"{glass}-")), None)
        return None if glass is None else self.glass_figures(glass).get(name)

    def names(self) -> Iterator[str]:
        """Every panel's name, the smallest first. Reads every file."""
        for glass in self.glasses:
            yield from self.glass_figures(glass)


def _table(places: Places, key: str) -> Mapping[str, object]:
    found = places.values.get(key, {})
    return found if isinstance(found, Mapping) else {}


def _part(places: Places, *at: str) -> Figures:
    """One layer of a file of several, which states the sources of all its layers at once."""
    stated = stated_sources(_table(places, "sources"))
    return figures_of(read_layer(places, at), places, at=at, stated=stated)


def _by_size(file: Traversable) -> tuple[float, str]:
    return float(file.name.split("in-")[0]), file.name


class _Shelf(Mapping[str, Panel]):
    """Panels by name: the wall's own first, then the package's, each made when asked for."""

    def __init__(self, built: _Built, own: Mapping[str, Panel]) -> None:
        self._built = built
        self._own = own
        self._made: dict[str, Panel] = {}

    def __getitem__(self, name: str) -> Panel:
        if name in self._own:
            return self._own[name]
        if name not in self._made:
            figures = self._built.figures(name)
            if figures is None:
                raise KeyError(name)
            self._made[name] = panel_of(name, figures, where=Place(name))
        return self._made[name]

    @cached_property
    def _names(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys([*self._own, *self._built.names()]))

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)


def load_panels(own_folder: Path | None = None) -> Mapping[str, Panel]:
    """Every known panel by its name.

    ``own_folder``: a wall's ``panels/``, whose profiles add to the package's and override them; it need not exist.
    Its files are read at once, and `FaultList` names every fault in them. The package's are read when asked for.
    """
    built = _Built()
    own = MappingProxyType(_own_panels(own_folder, built)) if own_folder else MappingProxyType({})
    return _Shelf(built, own)


def _own_panels(folder: Path, built: _Built) -> dict[str, Panel]:
    found: dict[str, Panel] = {}
    faults: list[WallbillError] = []
    for path in sorted(folder.glob("*.toml")):
        try:
            found[path.stem] = _own_panel(path, built)
        except FaultList as error:
            faults += error.faults
        except WallbillError as error:
            faults.append(error)
    if faults:
        raise FaultList(tuple(faults))
    return found


def _own_panel(path: Path, built: _Built) -> Panel:
    """One profile of a wall's own, on top of the panel or the class that it starts from."""
    file = f"panels/{path.name}"
    if not _NAME.fullmatch(path.stem):
        raise PanelError(
            f"{path.stem!r} is no name for a panel",
            where=Place(file),
            mend="Use small letters, digits, dots and hyphens, such as 5.8in-648x480-black-white-red.toml.",
        )
    places = load_toml(path, file=file, fault=PanelError)
    layer = read_layer(places)
    base = _base(path.stem, layer, places=places, built=built)
    return panel_of(path.stem, layered(base, figures_of(layer, places)), where=Place(file, 1))


def _base(name: str, layer: LayerTable, *, places: Places, built: _Built) -> Figures:
    """What a wall's own profile starts from: ``like``, else ``class``, else the panel that it overrides."""
    if layer.like is not None:
        figures = built.figures(layer.like)
        if figures is None:
            raise PanelError(
                f"there is no panel {layer.like!r} to start from",
                where=places.place("like"),
                mend=did_you_mean(layer.like, built.names(), else_=_LOOK),
            )
        return figures
    if layer.class_ is not None:
        if layer.class_ not in built.class_names:
            raise PanelError(
                f"there are no panels of the class {layer.class_!r}",
                where=places.place("class"),
                mend=did_you_mean(layer.class_, built.class_names),
            )
        return built.class_figures(layer.class_)
    return built.figures(name) or built.inks


_LOOK = "`wallbill panels` lists every panel."


def find_panel(panels: Mapping[str, Panel], name: str, *, where: Place | None = None) -> Panel:
    """The panel of that name; raises `PanelError` with the nearest name if there is none.

    ``where``: what asked for it.
    """
    found = panels.get(name)
    if found is None:
        raise PanelError(
            f"there is no panel {name!r}", where=where, mend=did_you_mean(name, panels, else_=_LOOK)
        )
    return found

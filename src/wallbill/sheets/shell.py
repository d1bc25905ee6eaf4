"""Reading a wall's sheets and pictures from its folder, and opening the tools that press them."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from wallbill.blocks.grammar.shell import engraver
from wallbill.blocks.maps.shell import load_coast
from wallbill.errors import Place, SheetError
from wallbill.faces.shell import FaceKeep, load_shelf
from wallbill.inks.gamut import Tables, tables_for
from wallbill.inks.inkset import Neutrals, ink_set
from wallbill.inks.shell_compiled import step_for
from wallbill.panels.model import Panel
from wallbill.press.pressing import PressTools
from wallbill.press.shell import MemoryPlans, open_engine
from wallbill.sheets.making import Materials, Tools, materials_of
from wallbill.sheets.pictures import Pictures
from wallbill.wall.model import Wall

_TEXTS = frozenset({".html", ".css", ".svg", ".json"})
_PICTURES = frozenset({".jpg", ".jpeg", ".png", ".gif", ".webp", ".svg", ".bmp", ".tif", ".tiff", ".geojson"})


def load_materials(wall: Wall) -> Materials:
    """All sheets of the wall, read now, and its pictures, each read when a sheet asks for it.

    Raises `SheetError` for a sheet that is not UTF-8.
    """
    texts = load_texts(wall.folder)
    return materials_of(
        wall, texts, pictures=_pictures(wall.folder / "pictures"), coast=load_coast, engrave=engraver()
    )


def load_texts(folder: Path) -> dict[str, str]:
    """Templates and styles of the wall in ``folder`` by file name under ``sheets/``.

    Raises `SheetError` for one that is not UTF-8.
    """
    sheets = folder / "sheets"
    return {
        file.relative_to(sheets).as_posix(): _text(file, sheets)
        for file in sorted(sheets.rglob("*"))
        if file.suffix in _TEXTS and file.is_file()
    }


def _text(file: Path, folder: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        line = file.read_bytes()[: error.start].count(b"\n") + 1
        raise SheetError(
            "this is not UTF-8",
            where=Place(f"sheets/{file.relative_to(folder).as_posix()}", line),
            mend="Save the file as UTF-8.",
        ) from error


def _pictures(folder: Path) -> Pictures:
    files = {
        file.relative_to(folder).as_posix(): file
        for file in (sorted(folder.rglob("*")) if folder.is_dir() else ())
        if file.suffix.lower() in _PICTURES and file.is_file()
    }
    return Pictures(tuple(files), lambda name: files[name].read_bytes())


@contextmanager
def open_tools(wall: Wall, *, cache: Path | None, engine_name: str = "blitz") -> Iterator[Tools]:
    """Everything that presses the sheets of ``wall``, warm until the context is left.

    ``cache``: a folder to keep fitted faces and link tables in from run to run; None: in memory only.
    ``engine_name``: one of `wallbill.press.shell.ENGINES`. Raises `PressError` where it is not installed.
    """
    keep = FaceKeep(None if cache is None else cache / "kept")
    engine = open_engine(engine_name, early=True)  # it comes up while the faces are read
    try:
        shelf = load_shelf([wall.folder / "faces"], system=True)
        press = PressTools(engine=engine, shelf=shelf, keep=keep, plans=MemoryPlans())
        yield Tools(press=press, tables=_tables(keep), step_for=step_for)
    finally:
        engine.close()


def _tables(keep: FaceKeep) -> Callable[[Panel, Neutrals], Tables]:
    """Link tables by panel: from memory, else from the keep, else made."""
    known: dict[str, Tables] = {}

    def tables(panel: Panel, neutrals: Neutrals) -> Tables:
        inks = ink_set(panel.inks, n=panel.yule_nielsen_n, neutrals=neutrals)
        if inks.key not in known:
            known[inks.key] = tables_for(inks, keep=keep)
        return known[inks.key]

    return tables

"""The whole way of the data for one display: facts become HTML, HTML a raster, the raster an impression."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess
from wallbill.blocks.grammar.spec import Engrave
from wallbill.blocks.maps.coast import Coast
from wallbill.errors import Place, SheetError
from wallbill.facts.origin import Freshness
from wallbill.facts.supply import Supply
from wallbill.findings import Finding, Weight
from wallbill.inks.gamut import Tables
from wallbill.inks.impression import Codes, Impression
from wallbill.inks.inkset import Neutrals
from wallbill.inks.manner import Manner, Standing
from wallbill.inks.search import StepFor
from wallbill.inks.separation import separate
from wallbill.panels.model import Panel, Tone
from wallbill.press.model import Pressed
from wallbill.press.pressing import PressTools, SheetPage, press_page
from wallbill.sheets.bench import Bench
from wallbill.sheets.document import Styles, accents, base_style, document
from wallbill.sheets.environment import Environment
from wallbill.sheets.filters import filters_of
from wallbill.sheets.functions import functions
from wallbill.sheets.measuring import ruler_for, styles_of
from wallbill.sheets.pictures import Pictures, shots_of, with_data, with_shots
from wallbill.sheets.scope import Age, DisplayView, FactsView, PanelView, WallView, ages
from wallbill.sources.sun import Spot
from wallbill.units.sight import Sight
from wallbill.units.wording import Wording
from wallbill.wall.model import Display, Wall

By = Literal["asked", "interrupt", "timetable"]
"""What chose a sheet: somebody by hand, an interrupt that holds, or the timetable."""


@dataclass(frozen=True, slots=True)
class Materials:
    """What a wall's folder holds for its sheets: its templates and styles, its pictures; and the world's coast.

    ``engrave``: lays out charts in the grammar of graphics.
    """

    environment: Environment
    pictures: Pictures
    coast: Callable[[], Coast]
    engrave: Engrave

    @property
    def texts(self) -> Mapping[str, str]:
        """Templates and styles by file name under ``sheets/``."""
        return self.environment.texts


def materials_of(
    wall: Wall, texts: Mapping[str, str], *, pictures: Pictures, coast: Callable[[], Coast], engrave: Engrave
) -> Materials:
    """The materials of a wall, whose sheets word their facts as the wall does; kept from page to page."""
    return Materials(Environment(texts, filters_of(wording_of(wall))), pictures, coast, engrave)


@dataclass(frozen=True, slots=True)
class Job:
    """One sheet for one display at one moment (``now``: aware, in the wall's zone).

    ``standing``: the page that the display shows, so that pictures on it keep their dots where they did not change.
    ``sheet``: asked for by hand, goes before interrupts and timetable; "" if nobody asked.
    """

    wall: Wall
    display: Display
    supply: Supply
    materials: Materials
    now: datetime
    standing: Standing | None = None
    sheet: str = ""


@dataclass(frozen=True, slots=True)
class Tools:
    """What presses and separates: warm engines and kept tables. They change how fast, never what.

    ``tables``: the link table of a panel's inks, asked for only when a picture is on the page.
    ``step_for``: the maker of moves for a search of so many pixels, if not NumPy's.
    """

    press: PressTools
    tables: Callable[[Panel, Neutrals], Tables]
    step_for: StepFor | None = None


@dataclass(frozen=True, slots=True)
class Filled:
    """A sheet filled in: the whole document, the sources it used, and what was missing. ``by``: what chose the sheet."""

    sheet: str
    html: str
    used: tuple[str, ...]
    findings: tuple[Finding, ...]
    by: By = "timetable"


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A finished impression with what made it.

    ``html``: the page as it went into the press; findings of the press name its lines, as `page_file`.
    ``ages``: how each source that the sheet used stands.
    """

    sheet: str
    html: str
    impression: Impression
    pressed: Pressed
    ages: Mapping[str, Age]
    findings: tuple[Finding, ...]
    by: By = "timetable"

    @property
    def minor(self) -> tuple[tuple[int, int, int, int], ...]:
        """Parts of the page (left, top, right, bottom in pixels) whose change alone is no news."""
        return self.pressed.minor

    @property
    def standing(self) -> Standing:
        """This page as the next one needs it, to leave alone what does not change."""
        return Standing(self.pressed.rgb, self.pressed.picture, self.impression.codes)

    @property
    def stale(self) -> tuple[str, ...]:
        """Names of the sources it used that are stale or missing."""
        return tuple(name for name, age in self.ages.items() if age.freshness is not Freshness.FRESH)


def make(job: Job, tools: Tools) -> Made:
    """The impression of ``job``. Raises `SheetError` or `PressError`; everything less is a finding beside it."""
    return press_filled(fill(job, tools=tools), job, tools=tools)


def press_filled(filled: Filled, job: Job, *, tools: Tools) -> Made:
    """The second half of `make`: the sheet that was filled in for ``job``, pressed and separated."""
    width_px, height_px = job.display.page_px
    page = SheetPage(
        html=filled.html,
        name=page_file(job.display),
        width_px=width_px,
        height_px=height_px,
        panel=job.display.panel,
    )
    pressed = press_page(page, tools.press)
    panel = job.display.panel
    has_dots = panel.tone is Tone.INKS and bool(pressed.picture.any())
    neutrals = job.display.neutrals
    separated = separate(
        pressed.rgb,
        panel=panel,
        picture=pressed.picture,
        tables=tools.tables(panel, neutrals) if has_dots else None,
        manner=Manner(job.display.pictures, neutrals, pressed.ways, job.standing, tools.step_for),
    )
    found = ages(job.supply, job.now)
    return Made(
        sheet=filled.sheet,
        html=filled.html,
        impression=Impression(separated.codes, panel.inks),
        pressed=pressed,
        ages={name: found[name] for name in filled.used},
        findings=(
            *(finding for name in filled.used for finding in job.supply.sources[name].findings),
            *filled.findings,
            *pressed.findings,
            *separated.findings,
            *_blank(separated.codes, filled),
        ),
        by=filled.by,
    )


def _blank(codes: Codes, filled: Filled) -> tuple[Finding, ...]:
    """The finding for a page on which there is nothing to see."""
    if int(codes.min()) != int(codes.max()):
        return ()
    return (
        Finding(
            rule="sheets.blank",
            where=Place(f"sheets/{filled.sheet}.html"),
            what="the page is of one ink all over: nothing is to be seen on it",
            mend="See that the sheet prints something, and not in the colour of its ground.",
        ),
    )


def page_file(display: Display) -> str:
    """The name of a display's filled-in page, as findings cite it and as it is written beside its pictures."""
    return f"{display.name}.page.html"


def fill(job: Job, *, tools: Tools | None = None) -> Filled:
    """The sheet that the display shows now, as a whole HTML document.

    ``tools``: those that will press it, so that blocks measure texts in the faces that they fit; None: they guess.
    """
    missed: list[str] = []
    noted: list[Finding] = []
    facts = FactsView(job.supply, missed.append, known=job.wall.sources)
    bench = _bench(job, note=noted.append)
    scope = _scope(job, facts, bench)
    sheet, by = _sheet_now(job, scope)
    file = f"{sheet}.html"
    if file not in job.materials.texts:
        raise SheetError(
            f"there is no sheet {sheet!r}", where=job.display.where, mend=f"Put {file} into sheets/."
        )
    base = base_style(job.display.panel, job.display.page_px)
    ruler = ruler_for(
        styles_of(sheet, job.materials.texts, base=base),
        panel=job.display.panel,
        tools=tools.press if tools else None,
        language=bench.wording.language,
    )
    scope |= functions(replace(bench, ruler=ruler))
    facts.used.clear()
    missed.clear()
    noted.clear()
    body = with_data(
        job.materials.environment.fill(file, scope, note=missed.append),
        bench.pictures,
        file=f"sheets/{file}",
    )
    styles = Styles(base, _own_style(job.materials, sheet))
    wording = bench.wording
    html = document(body, styles=styles, language=wording.language, direction=wording.direction)
    return Filled(sheet, html, tuple(sorted(facts.used)), (*_gaps(missed, file), *dict.fromkeys(noted)), by)


def palette_of(panel: Panel) -> Palette:
    """The colours that blocks are drawn in on ``panel``."""
    accent = accents(panel).text
    return Palette(accent=accent, muted="#000000", smooth=panel.tone is Tone.GREYS)


def wording_of(wall: Wall) -> Wording:
    """How the wall words its facts."""
    return Wording(language=wall.language, zone=wall.time_zone, units=wall.units)


def _bench(job: Job, *, note: Callable[[Finding], None]) -> Bench:
    """The display's bench, with a ruler that guesses: which sheet is to be filled in is not known yet."""
    wall, display = job.wall, job.display
    return Bench(
        palette=palette_of(display.panel),
        wording=wording_of(wall),
        now=job.now,
        spot=Spot(wall.place.latitude_deg, wall.place.longitude_deg),
        size_px=display.page_px,
        sight=Sight(display.panel.pitch_mm, display.read_from_m),
        ruler=Guess(),
        coast=job.materials.coast,
        pictures=with_shots(job.materials.pictures, shots_of(job.supply)),
        texts=job.materials.texts,
        engrave=job.materials.engrave,
        note=note,
    )


def _scope(job: Job, facts: FactsView, bench: Bench) -> dict[str, Any]:
    """All names that the display's sheet can see."""
    wall, display, wording = job.wall, job.display, bench.wording
    width_px, height_px = display.page_px
    return {
        **functions(bench),
        "facts": facts,
        "ages": ages(job.supply, job.now),
        "now": job.now,
        "zone": wall.time_zone,
        "wording": wording,
        "wall": WallView(
            name=wall.name,
            language=wall.language,
            direction=wording.direction,
            elevation=wall.place.elevation,
            latitude_deg=wall.place.latitude_deg,
            longitude_deg=wall.place.longitude_deg,
        ),
        "display": DisplayView(
            name=display.name,
            width_px=width_px,
            height_px=height_px,
            pitch_mm=display.panel.pitch_mm,
            read_from_m=display.read_from_m,
            next_look=job.now + display.every,
        ),
        "panel": PanelView(
            name=display.panel.name,
            inks=tuple(ink.name for ink in display.panel.inks),
            greys=display.panel.tone is Tone.GREYS,
        ),
    }


def _sheet_now(job: Job, scope: dict[str, Any]) -> tuple[str, By]:
    """The sheet that was asked for by hand, else that of the first interrupt that holds, else that of the timetable.

    In quiet hours only interrupts that may break them count.
    """
    if job.sheet:
        return job.sheet, "asked"
    quiet = job.display.is_quiet(job.now)
    for interrupt in job.display.interrupts:
        if quiet and not interrupt.even_quiet:
            continue
        if job.materials.environment.holds(interrupt.when, scope, where=interrupt.where):
            return interrupt.sheet, "interrupt"
    return job.display.sheet_at(job.now), "timetable"


def _own_style(materials: Materials, sheet: str) -> str:
    return materials.texts.get(f"{sheet}.css", "")


def _gaps(missed: list[str], file: str) -> tuple[Finding, ...]:
    """One finding a missing fact, in the order of the page."""
    return tuple(
        Finding(
            rule="sheets.missing-fact",
            where=Place(f"sheets/{file}", None, path),
            what="a fact is missing; a dash stands in its place",
            mend="See `wallbill facts` for the state of its source.",
            weight=Weight.WARN,
        )
        for path in dict.fromkeys(missed)
    )

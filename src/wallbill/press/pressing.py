"""One page through the press: planned, set in fitted type, laid out, painted.

The whole way in one function, `press_page`; everything that touches a process hides behind the engine.
"""

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from PIL import Image

from wallbill.errors import Place, PressError, WallbillError
from wallbill.faces.fitting import fit_set, smooth_set
from wallbill.faces.model import FaceSet, Keep
from wallbill.faces.shelf import Shelf
from wallbill.findings import Finding
from wallbill.panels.model import Panel, Tone
from wallbill.press.baselines import (
    Drops,
    drops_of,
    level_lines,
    marked_page,
    pieces_in_lines,
    styles_of_pieces,
)
from wallbill.press.checks import check_boxes, check_inline, check_source
from wallbill.press.clipping import Clipping, check_clipped
from wallbill.press.halves import adrift_areas, settle_halves
from wallbill.press.media import features_of
from wallbill.press.minor import minor_parts
from wallbill.press.model import Engine, Laid, Page, Pressed, Rgb, Rgba
from wallbill.press.needs import Needs
from wallbill.press.pictures import mend_pictures, picture_mask, picture_ways, unknown_tones
from wallbill.press.reading import read_markup
from wallbill.press.stylefacts import StyleFacts, style_facts
from wallbill.press.typeplan import (
    Composed,
    FaceKey,
    Source,
    TypePlan,
    asked_characters,
    compose,
    make_plan,
    plan_probe,
    skeleton,
)

PAGE_LIMIT_PX = 64_000_000  # what the default engine paints at most, and far more than any panel has


class PlanKeep(Protocol):
    """Where plans, style facts and face sets are kept in memory between presses, by key; may forget any of them."""

    def get(self, key: Hashable) -> object | None:
        """What lies under a key, or None."""
        ...

    def put(self, key: Hashable, value: object) -> None:
        """Keep a frozen value under a key."""
        ...


@dataclass(frozen=True, slots=True)
class SheetPage:
    """A page to press: HTML in full, the sheet's name for messages, its size in pixels, and the panel it is for."""

    html: str
    name: str
    width_px: int
    height_px: int
    panel: Panel


@dataclass(frozen=True, slots=True)
class PressTools:
    """What the press works with: an engine, the shelf of faces, the keep of fitted faces, the keep of plans."""

    engine: Engine
    shelf: Shelf
    keep: Keep
    plans: PlanKeep


@dataclass(frozen=True, slots=True)
class _KnownFaces:
    """A face set, and every character of which it is known whether the set holds it."""

    faces: FaceSet
    known: frozenset[str]

    def serves(self, characters: frozenset[str]) -> bool:
        """Whether the set is as good as a new one; it must not tell of missing signs that the text lacks."""
        return characters <= self.known and self.faces.missing <= characters


def press_page(sheet: SheetPage, tools: PressTools) -> Pressed:
    """Presses one page.

    Raises `PressError` for a page that cannot be read, laid out or painted within the engine's limits, and
    `FaceError` where the shelf cannot serve it. What merely falls short comes back as findings.
    """
    if not 0 < sheet.width_px * sheet.height_px <= PAGE_LIMIT_PX:
        raise PressError(
            f"a page of {sheet.width_px} x {sheet.height_px} px cannot be pressed", where=Place(sheet.name),
            mend=f"give it at least one pixel and at most {PAGE_LIMIT_PX} in all",
        )  # fmt: skip
    source = _read(sheet, tools)
    plan = _plan(source, sheet, tools)
    sets = _faces(source, plan, tools, smooth=sheet.panel.tone is Tone.GREYS)
    composed = compose(source, plan, sets)
    page = Page(composed.html, sheet.width_px, sheet.height_px, sheet.name, _fonts(sets.values()))
    drops = _drops(source, plan, composed, page=page, tools=tools)
    with tools.engine.lay(page) as laid:
        mended = mend_pictures(source, composed.ids, laid)
        mended += level_lines(source, plan, composed.ids, laid=laid, drops=drops)
        boxes, rgba = laid.boxes(), laid.paint()
        ways = picture_ways(source, composed.ids, laid)
        mask = picture_mask(source, composed.ids, laid, painted=rgba)
        minor = minor_parts(source, composed.ids, laid)
        looked = Clipping(source, plan, composed.ids, boxes, rgba, leftwards=tools.engine.name != "blitz")
        clipped = _clipped(looked, laid, tools, key=("needs", plan.shape))
    findings = [*check_source(source, engine=tools.engine.name), *unknown_tones(source), *plan.findings]
    findings += [*dict.fromkeys(_face_findings(sets.values())), *mended]
    if tools.engine.name == "blitz":
        findings += check_inline(source, plan, composed.ids, boxes=boxes)
    findings += check_boxes(source, boxes, composed.ids, page_px=(sheet.width_px, sheet.height_px))
    findings += clipped
    owners = dict.fromkeys(run.owner for run in source.markup.texts)
    text_boxes = tuple(name for owner in owners if (name := composed.ids[owner]))
    if sheet.panel.tone is Tone.INKS:
        areas = adrift_areas(source, plan, composed.ids, boxes=boxes)
        rgba = settle_halves(rgba, inks=tuple(ink.css for ink in sheet.panel.inks), areas=areas, picture=mask)
    return Pressed(_rgb(rgba), mask, boxes, text_boxes, tuple(findings), ways, minor)


def _read(sheet: SheetPage, tools: PressTools) -> Source:
    markup = read_markup(sheet.html, name=sheet.name)
    attributes = tuple(markup.attributes(element) for element in markup.elements)
    css = tuple(sheet.html[run.start : run.end] for run in markup.styles)
    media = tuple(
        attributes[run.owner]["media"].value if "media" in attributes[run.owner] else ""
        for run in markup.styles
    )
    key = ("style", _panel_key(sheet.panel), tools.engine.name, css, media)
    facts = tools.plans.get(key)
    if not isinstance(facts, StyleFacts):
        try:
            facts = style_facts(css, media, features_of(sheet.panel), engine=tools.engine.name)
        except WallbillError as fault:
            raise PressError(fault.what, where=Place(sheet.name), mend=fault.mend) from fault
        tools.plans.put(key, facts)
    return Source(markup, attributes, facts, sheet.name)


def _panel_key(panel: Panel) -> str:
    inks = ",".join(f"{ink.name}{ink.css}" for ink in panel.inks)
    return f"{panel.name};{panel.tone};{inks}"


def _clipped(looked: Clipping, laid: Laid, tools: PressTools, *, key: Hashable) -> tuple[Finding, ...]:
    """Findings of cut texts; what texts need is kept from page to page."""
    before = tools.plans.get(key)
    found, needs = check_clipped(looked, laid, before=before if isinstance(before, Needs) else Needs())
    if needs != before:
        tools.plans.put(key, needs)
    return found


def _drops(
    source: Source, plan: TypePlan, composed: Composed, *, page: Page, tools: PressTools
) -> Drops | None:
    """How far boxes in lines reach beneath their text, kept or measured; None for an engine that knows."""
    styles = styles_of_pieces(source) if tools.engine.name == "blitz" else ()
    if not styles:
        return None
    key = ("drops", plan.shape, styles)
    kept = tools.plans.get(key)
    if isinstance(kept, Drops):
        return kept
    pieces = pieces_in_lines(source, plan, composed.ids, boxes=tools.engine.boxes(page))
    drops = Drops()
    if pieces:
        marked = tools.engine.boxes(replace(page, html=marked_page(source, composed, pieces)))
        drops = drops_of(composed.ids, pieces, boxes=marked)
    tools.plans.put(key, drops)
    return drops


def _plan(source: Source, sheet: SheetPage, tools: PressTools) -> TypePlan:
    """The kept plan of the page's skeleton, or a new one: the page is laid out once with probes."""
    who = f"{_panel_key(sheet.panel)};{sheet.width_px}x{sheet.height_px};{tools.engine.name}"
    shape = skeleton(source, panel=who)
    key = ("plan", shape)
    plan = tools.plans.get(key)
    if isinstance(plan, TypePlan):
        return plan
    probe = plan_probe(source, edges=tools.engine.name == "blitz")
    readings, cuts = {}, frozenset[int]()
    inline = frozenset[int]() if tools.engine.name == "blitz" else None
    if probe.probed:
        boxes = tools.engine.boxes(Page(probe.html, sheet.width_px, sheet.height_px, sheet.name, probe.fonts))
        readings, cuts = probe.read(boxes), probe.cuts(boxes)
        inline = probe.inline(boxes) if inline is not None else None
    plan = make_plan(source, readings, smooth=sheet.panel.tone is Tone.GREYS, inline=inline, cuts=cuts)
    plan = replace(plan, shape=shape)
    tools.plans.put(key, plan)
    return plan


def _faces(source: Source, plan: TypePlan, tools: PressTools, *, smooth: bool) -> dict[FaceKey, FaceSet]:
    """The faces of each ask."""
    return {
        key: faces_for(key, characters, tools, smooth=smooth)
        for key, characters in asked_characters(source, plan).items()
    }


def faces_for(key: FaceKey, characters: frozenset[str], tools: PressTools, *, smooth: bool) -> FaceSet:
    """The faces that a page gets for an ask and its characters; a kept set serves as long as it covers them.

    ``smooth``: for panels that smooth type themselves. Raises `FaceError` where the shelf cannot serve the ask.
    """
    shelf = hash(tuple(face.digest for face in tools.shelf.faces))
    kept = tools.plans.get(("faces", shelf, smooth, key))
    if isinstance(kept, _KnownFaces) and kept.serves(characters):
        return kept.faces
    make = smooth_set if smooth else fit_set
    made = make(key[0], characters, shelf=tools.shelf, keep=tools.keep)
    known = characters.union(made.missing, *(face.covered for face in made.faces))
    tools.plans.put(("faces", shelf, smooth, key), _KnownFaces(made, known))
    return made


def _fonts(sets: Iterable[FaceSet]) -> tuple[bytes, ...]:
    return tuple(dict.fromkeys(face.data for found in sets for face in found.faces))


def _face_findings(sets: Iterable[FaceSet]) -> Iterator[Finding]:
    """What the faces room found, each once."""
    for found in sets:
        yield from found.findings
        for face in found.faces:
            yield from face.findings


def _rgb(rgba: Rgba) -> Rgb:
    """The colours without coverage; Pillow packs three bytes of four faster than a strided copy."""
    height_px, width_px = rgba.shape[:2]
    image = Image.frombuffer("RGBX", (width_px, height_px), rgba, "raw", "RGBX", 0, 1)
    return np.asarray(image.convert("RGB"))

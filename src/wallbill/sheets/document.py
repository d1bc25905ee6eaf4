"""A filled-in sheet becomes a whole document: its size, its base style, its own style."""

import re
from dataclasses import dataclass

from wallbill.panels.model import Panel

_HEAD = re.compile(r"<head(?=[\s>])[^>]*>", re.IGNORECASE)  # and no <header>
_HTML = re.compile(r"<html(?=[\s>])[^>]*>", re.IGNORECASE)
_DOCTYPE = re.compile(r"\s*<!doctype", re.IGNORECASE)
_COMMENT = re.compile(r"<!--.*?-->", re.DOTALL)

# An ink is said by its name here and by its css colour in the page. A yellow cannot carry text on white.
_TEXT_INKS = ("red", "blue", "green")
_FILL_INKS = ("red", "yellow", "orange", "blue", "green")


@dataclass(frozen=True, slots=True)
class Accents:
    """The colours beside black and white that a sheet may use without asking which panel it is on.

    ``fill``: for fields; ``on_fill``: for type on such a field; ``text``: for type on the paper.
    All are CSS colours of exact inks; on a panel without colour they are its black and white.
    """

    fill: str
    on_fill: str
    text: str


def _css(panel: Panel, name: str) -> str | None:
    ink = panel.ink(name)
    return None if ink is None else "#{:02x}{:02x}{:02x}".format(*ink.css)


def accents(panel: Panel) -> Accents:
    """The accents of a panel: red where it has one, else its next best ink, else black."""
    fills = [(name, colour) for name in _FILL_INKS if (colour := _css(panel, name))]
    texts = [colour for name in _TEXT_INKS if (colour := _css(panel, name))]
    name, fill = fills[0] if fills else ("black", "#000000")
    on_fill = "#000000" if name == "yellow" else "#ffffff"
    return Accents(fill=fill, on_fill=on_fill, text=texts[0] if texts else "#000000")


def base_style(panel: Panel, size_px: tuple[int, int]) -> str:
    """CSS that every sheet starts from: the page's size, no margins, and the panel's colours as properties."""
    found = accents(panel)
    width, height = size_px
    return (
        f":root{{--ink:#000000;--paper:#ffffff;--accent:{found.fill};--on-accent:{found.on_fill};"
        f"--accent-text:{found.text}}}"
        f"html,body{{margin:0;padding:0;width:{width}px;height:{height}px;background:#ffffff;color:#000000;"
        "font-family:sans-serif;overflow:hidden}"
        "*,*::before,*::after{box-sizing:border-box}"
        ".wb-strong,.wb-figure,.wb-head,.wb-group{font-weight:600}.wb-figure,.wb-axis{font-variant-numeric:tabular-nums}"
        ".wb-block{display:block}.wb-block,.wb-chart,.wb-map,.wb-picture,.wb-code,.wb-table,.wb-list,.wb-text,.wb-gap{flex:none}"
        ".wb-on-tint{display:inline-block;padding:2px 6px;background:#ffffff;color:#000000}"
    )


@dataclass(frozen=True, slots=True)
class Styles:
    """The sheet's own style and the base beneath it."""

    base: str
    own: str


def document(body: str, *, styles: Styles, language: str, direction: str) -> str:
    """A whole HTML document of a filled-in sheet, which may itself be a fragment or a whole document.

    One that does not say its type gets the type of HTML: without it a page is laid out by the rules of the 1990s.
    """
    head = f"<style>{styles.base}</style>"
    if styles.own:
        head += f"<style>{styles.own}</style>"
    seen = _COMMENT.sub(lambda comment: " " * len(comment[0]), body)
    doctype = "" if _DOCTYPE.match(seen) else "<!DOCTYPE html>"
    if found := _HEAD.search(seen):
        return doctype + body[: found.end()] + head + body[found.end() :]
    if found := _HTML.search(seen):
        return f"{doctype}{body[: found.end()]}<head>{head}</head>{body[found.end() :]}"
    return (
        f'<!DOCTYPE html><html lang="{language}" dir="{direction}"><head><meta charset="utf-8">{head}</head>'
        f"<body>{body}</body></html>"
    )

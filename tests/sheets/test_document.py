"""A filled-in sheet becomes a whole document with the panel's colours."""

import pytest

from wallbill.panels.shell import load_panels
from wallbill.sheets.document import Accents, Styles, accents, base_style, document

PANELS = load_panels()
STYLES = Styles(".base{}", ".own{}")


@pytest.mark.parametrize(
    ("panel", "wanted"),
    [
        ("5.8in-648x480-black-white", Accents("#000000", "#ffffff", "#000000")),
        ("5.8in-648x480-black-white-red", Accents("#ff0000", "#ffffff", "#ff0000")),
        ("4.2in-400x300-black-white-yellow", Accents("#ffff00", "#000000", "#000000")),
        ("7.3in-800x480-black-white-red-yellow", Accents("#ff0000", "#ffffff", "#ff0000")),
        ("10.3in-1872x1404-16-greys", Accents("#000000", "#ffffff", "#000000")),
    ],
)
def test_accents_are_exact_inks(panel: str, wanted: Accents) -> None:
    found = accents(PANELS[panel])
    assert found == wanted
    inks = {"#{:02x}{:02x}{:02x}".format(*ink.css) for ink in PANELS[panel].inks}
    assert {found.fill, found.on_fill, found.text} <= inks


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ("<p>a", '<!DOCTYPE html><html lang="en-GB" dir="ltr"><head><meta charset="utf-8">{}</head><body><p>a</body></html>'),
        ("<html><head><title>x</title></head>a</html>", "<!DOCTYPE html><html><head>{}<title>x</title></head>a</html>"),
        ("<HTML lang=fr><body>a</HTML>", "<!DOCTYPE html><HTML lang=fr><head>{}</head><body>a</HTML>"),
        ("\n<!doctype html><html><head></head>a</html>", "\n<!doctype html><html><head>{}</head>a</html>"),
        ("<header>a</header>", '<!DOCTYPE html><html lang="en-GB" dir="ltr"><head><meta charset="utf-8">{}</head><body><header>a</header></body></html>'),
        ("<!-- <head> -->a", '<!DOCTYPE html><html lang="en-GB" dir="ltr"><head><meta charset="utf-8">{}</head><body><!-- <head> -->a</body></html>'),
    ],
)  # fmt: skip
def test_styles_are_put_at_the_head(body: str, wanted: str) -> None:
    styles = "<style>.base{}</style><style>.own{}</style>"
    assert document(body, styles=STYLES, language="en-GB", direction="ltr") == wanted.replace("{}", styles, 1)


def test_the_page_has_the_size_of_the_display() -> None:
    style = base_style(PANELS["5.8in-648x480-black-white-red"], (480, 648))
    assert "width:480px;height:648px" in style

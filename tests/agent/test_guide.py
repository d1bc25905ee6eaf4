"""What the guide and the reference of the agent say holds."""

import json
import re

import pytest

from tests.agent.guide import GUIDE, REFERENCE, blocks
from tests.house.source_tree import ROOT
from wallbill.agent.device import settings as device_settings
from wallbill.agent.device import shell_main
from wallbill.agent.device.packing import Packing, header, pack, usual_packing
from wallbill.agent.device.plates import split
from wallbill.agent.device.settings import merged, read_settings
from wallbill.agent.shell import device_modules

_BASE = {
    "display": "hall",
    "address": "http://wall.example:8000",
    "panel": {
        "width_px": 648,
        "height_px": 480,
        "inks": {"black": "#000000", "white": "#ffffff", "red": "#ff0000"},
    },
    "glass": {"adapter": "file", "path": "hall.png"},
}


@pytest.mark.parametrize("text", [*blocks(GUIDE, "json"), *blocks(REFERENCE, "json")])
def test_every_example_of_settings_is_good(text: str) -> None:
    read_settings(merged(_BASE, json.loads(text)), file="example")


def test_there_are_examples() -> None:
    assert len(blocks(GUIDE, "json")) >= 8
    assert len(blocks(GUIDE, "python")) == 1


def _asked() -> set[str]:
    """The names of all settings, as the reader asks for them."""
    source = device_modules()["settings.py"]
    names = set()
    current = ""
    for line in source.splitlines():
        if found := re.match(r"def _(\w+)\(", line):
            current = found[1]
        for place, name in re.findall(
            r"\b(top|table)\.(?:text|texts|number|whole|one_of|flag|has|table|tables)\(\s*\"(\w+)\"", line
        ):
            names.add(name if place == "top" else f"{current}.{name}")
    return names


def test_every_setting_is_in_the_reference() -> None:
    page = (ROOT / REFERENCE).read_text(encoding="utf-8")
    told = set(re.findall(r"`([a-z_.]+)`", page))
    leaves = {part for name in told for part in name.split(".")}
    for name in _asked():
        leaf = name.rsplit(".", 1)[-1]
        assert leaf in leaves, f"{name} is not in {REFERENCE}"
    for field in (*device_settings.Settings._fields, *device_settings.Limits._fields, *Packing._fields):
        known = {"low_first": "order"}.get(field, field)
        assert known in leaves | {"panel", "limits", "glass", "packing", "network", "button"}, field


def test_every_exit_status_and_field_is_in_the_reference() -> None:
    page = (ROOT / REFERENCE).read_text(encoding="utf-8")
    for status in (shell_main.GOOD, shell_main.FAILED, shell_main.USAGE, shell_main.BUSY, shell_main.CONFIG):
        assert f"| {status} |" in page
    one = split(b"\x80\x00", width_px=1, height_px=1, inks=2)
    for field in header(pack(one, usual_packing(("black", "white")), ("black", "white"))):
        assert f"`{field}`" in page
    for adapter in device_settings.ADAPTERS:
        assert f"`{adapter}`" in page

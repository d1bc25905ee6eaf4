"""The agent's settings: one JSON table, written into the agent's file by `wallbill agent bundle`, overridden by a file beside it. Pure.

JSON, because it has numbers and lists, which INI has not, and because the agent speaks it anyway to drivers and to the server.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, NamedTuple

from wallbill.agent.device.addresses import read_target
from wallbill.agent.device.packing import Packing, Plane, usual_packing
from wallbill.agent.device.pictures import Css
from wallbill.agent.device.reading import SettingsError, Table

DAY_S = 86400
MODES = ("full", "fast", "partial")
ADAPTERS = ("file", "command", "module", "framebuffer", "window")


class Ink(NamedTuple):
    """An ink of the panel: its name and its sRGB colour."""

    name: str
    css: Css


class Panel(NamedTuple):
    """The panel in its own scan order. ``inks``: in the order of its plates. ``turned_deg``: how it hangs, clockwise."""

    name: str
    width_px: int
    height_px: int
    inks: tuple[Ink, ...]
    turned_deg: int

    @property
    def ink_names(self) -> tuple[str, ...]:
        """The inks' names, in order."""
        return tuple(ink.name for ink in self.inks)

    @property
    def colours(self) -> tuple[Css, ...]:
        """The inks' colours, in order."""
        return tuple(ink.css for ink in self.inks)


class Limits(NamedTuple):
    """What the panel must not suffer. ``lowest_c``, ``highest_c``: None where the panel's profile knows none."""

    least_interval_s: int
    longest_rest_s: int
    full_s: float
    lowest_c: float | None
    highest_c: float | None


class Glass(NamedTuple):
    """How the panel is driven. ``path``: of a file or framebuffer. ``argv``: of a command. ``show``: a module's function.

    ``form``: what a file, or a command that names ``{picture}``, is given: png, bmp, plates or planes. ``modes``: what the
    driver can do; ``full_every``: at the latest every so many refreshes is a full one. ``timeout_s``: the driver is ended then.
    """

    adapter: str
    path: str
    argv: tuple[str, ...]
    show: str
    form: str
    modes: tuple[str, ...]
    full_every: int
    timeout_s: float


class Network(NamedTuple):
    """Patience in seconds. ``join_s``: for a network that is not up yet. ``quiet_s``: without a byte. ``patience_s``: for an exchange.

    ``ca_file``: certificates to trust instead of the system's, "" for those. ``check_dates``: whether they must not be over; a
    board without a clock cannot tell.
    """

    ca_file: str
    check_dates: bool
    join_s: float
    quiet_s: float
    patience_s: float


class Sensor(NamedTuple):
    """Where a figure is read: the first number in a file, or that a command prints, times ``scale`` and plus ``offset``."""

    file: str
    argv: tuple[str, ...]
    scale: float
    offset: float


class Button(NamedTuple):
    """A button on a GPIO line, or one that the kernel gives as input events. ``bias``: pull-up, pull-down or none.

    ``long_s``: a press so long asks for the next sheet. ``least_s``: presses sooner than that after the last one are waited with.
    """

    input: str
    chip: str
    line: str
    active_low: bool
    bias: str
    long_s: float
    least_s: float


class Settings(NamedTuple):
    """All of it. ``address``: of the server. ``form``: plates or png, what is fetched. ``usual_s``: between wakes if nothing is told.

    ``stale_after_s``: the silence after which the picture is marked, 0 for three usual wakes, at least six hours; ``mark``: whether it
    is at all. ``report_every_s``: unchanged wakes are reported so often. ``key_file``: "" for the one beside the agent's file. ``key``: the key itself, if it was
    asked to stand here.
    """

    display: str
    address: str
    form: str
    panel: Panel
    limits: Limits
    glass: Glass
    packing: Packing
    network: Network
    battery: Sensor | None
    temperature: Sensor | None
    signal: Sensor | None
    button: Button | None
    usual_s: int
    stale_after_s: int
    mark: bool
    report_every_s: int
    key_file: str
    key: str


def merged(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """A table over another: tables are laid over each other field by field, all else replaces; null takes a field away."""
    found = dict(base)
    for name, value in over.items():
        here = found.get(name)
        found[name] = merged(here, value) if isinstance(here, dict) and isinstance(value, dict) else value
    return found


def parsed(text: bytes, *, file: str) -> dict[str, Any]:
    """The table in a file. Raises `SettingsError` with line and column where it is no JSON."""
    try:
        found = json.loads(text.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise SettingsError(f"{file}: it is not UTF-8\n  mend: save it as UTF-8") from error
    except json.JSONDecodeError as error:
        raise SettingsError(
            f"{file}:{error.lineno}: no JSON: {error.msg}, column {error.colno}\n  mend: see to commas, quotes and brackets there"
        ) from error
    if not isinstance(found, dict):
        raise SettingsError(f"{file}: it is no table\n  mend: begin it with {{ and end it with }}")
    return found


def read_settings(values: Mapping[str, Any], *, file: str) -> Settings:
    """The settings in a table. Raises `SettingsError` that names every fault."""
    top = Table(values)
    if top.whole("v", 1, least=1, most=1000) != 1:
        top.fault("v", "this agent reads settings of version 1; write the agent's file again")
    panel = _panel(top.table("panel"))
    limits = _limits(top.table("limits"))
    settings = Settings(
        display=_display(top),
        address=_address(top),
        form=top.text("form", "plates", one_of=("plates", "png")),
        panel=panel,
        limits=limits,
        glass=_glass(top.table("glass"), limits),
        packing=_packing(top, panel),
        network=_network(top.table("network")),
        battery=_sensor(top, "battery"),
        temperature=_sensor(top, "temperature"),
        signal=_sensor(top, "signal"),
        button=_button(top),
        usual_s=top.whole("usual_s", 1800, least=60, most=7 * DAY_S),
        stale_after_s=top.whole("stale_after_s", 0, least=0, most=365 * DAY_S),
        mark=top.flag("mark", usual=True),
        report_every_s=top.whole("report_every_s", 6 * 3600, least=0, most=30 * DAY_S),
        key_file=top.text("key_file", ""),
        key=top.text("key", ""),
    )
    top.done()
    if top.faults:
        raise SettingsError("\n".join(f"{file} {fault}" for fault in top.faults))
    return settings


def _display(top: Table) -> str:
    name = top.text("display")
    if not all(sign.isascii() and (sign.isalnum() or sign in "-_.~") for sign in name):
        top.fault("display", "give the display's name as it stands in wall.toml")
    return name


def _address(top: Table) -> str:
    address = top.text("address").rstrip("/")
    try:
        is_plain = not address or "?" not in read_target(address).path
    except ValueError:
        is_plain = False
    if not is_plain:
        top.fault("address", "give the server's address, such as http://wall.example:8000, with no key in it")
    return address


def _panel(table: Table) -> Panel:
    inks = table.table("inks")
    found = []
    for name in inks.names():
        code = inks.text(name)
        digits = code[1:]
        if code[:1] != "#" or len(digits) != 6 or not set(digits.lower()) <= set("0123456789abcdef"):
            inks.fault(name, "give its colour as #rrggbb")
        else:
            red, green, blue = bytes.fromhex(digits)
            found.append(Ink(name, (red, green, blue)))
    if not 2 <= len(inks.names()) <= 16:
        table.fault("inks", 'give 2 to 16 inks in the panel\'s order, such as {"black": "#000000", ...}')
    panel = Panel(
        name=table.text("name", ""),
        width_px=table.whole("width_px", least=1, most=20000),
        height_px=table.whole("height_px", least=1, most=20000),
        inks=tuple(found),
        turned_deg=table.one_of("turned_deg", 0, (0, 90, 180, 270)),
    )
    table.done()
    return panel


def _limits(table: Table) -> Limits:
    def degrees(name: str) -> float | None:
        return table.number(name, least=-60, most=100) if table.has(name) else None

    limits = Limits(
        least_interval_s=table.whole("least_interval_s", 180, least=0, most=DAY_S),
        longest_rest_s=table.whole("longest_rest_s", DAY_S, least=3600, most=90 * DAY_S),
        full_s=table.number("full_s", 30, least=0, most=300),
        lowest_c=degrees("lowest_c"),
        highest_c=degrees("highest_c"),
    )
    table.done()
    return limits


def _glass(table: Table, limits: Limits) -> Glass:
    glass = Glass(
        adapter=table.text("adapter", one_of=ADAPTERS),
        path=table.text("path", ""),
        argv=table.texts("argv"),
        show=table.text("show", ""),
        form=table.text("form", "png", one_of=("png", "bmp", "plates", "planes")),
        modes=table.texts("modes", ("full",), one_of=MODES),
        full_every=table.whole("full_every", 10, least=1, most=1000),
        timeout_s=table.number("timeout_s", 3 * limits.full_s + 30, least=0.1, most=900),
    )
    for adapter, name, value in (
        ("file", "path", glass.path),
        ("framebuffer", "path", glass.path),
        ("command", "argv", glass.argv),
        ("module", "show", glass.show),
    ):
        if glass.adapter == adapter and not value:
            table.fault(name, f"is missing; the adapter {adapter} needs it")
    if glass.adapter == "module" and glass.show and ":" not in glass.show:
        table.fault("show", "give a module and its function, such as hall_panel:show")
    if "full" not in glass.modes:
        table.fault("modes", "a driver must be able to do full refreshes; name full")
    table.done()
    return glass


def _packing(top: Table, panel: Panel) -> Packing:
    """The panel's usual packing, with what ``packing`` says otherwise."""
    usual = usual_packing(panel.ink_names) if panel.inks else Packing()
    table = top.table("packing")
    bits = table.one_of("bits", usual.bits, (1, 2, 4, 8))
    planes = tuple(_plane(each, panel.ink_names) for each in table.tables("planes"))
    packing = Packing(
        rotation_deg=table.one_of("rotation_deg", 0, (0, 90, 180, 270)),
        mirror=table.flag("mirror", usual=False),
        bits=bits,
        planes=planes or usual.planes,
        codes=_codes(table, panel.ink_names, bits),
        low_first=table.text("order", "high-first", one_of=("high-first", "low-first")) == "low-first",
        row_bytes=table.whole("row_bytes", 1, least=1, most=4096),
        fill=table.one_of("fill", 0, (0, 1)),
    )
    if bits == 1 and not packing.planes:
        table.fault("planes", "is missing; say which inks set the bits of each plane")
    table.done()
    return packing


def _plane(table: Table, inks: tuple[str, ...]) -> Plane:
    wanted = table.texts("inks", one_of=inks)
    if not wanted:
        table.fault("inks", "name at least one ink whose pixels set the plane's bits")
    plane = Plane(
        name=table.text("name", "-".join(wanted)),
        inks=wanted,
        one_means=table.text("one_means", "ink", one_of=("ink", "paper")),
    )
    table.done()
    return plane


def _codes(table: Table, inks: tuple[str, ...], bits: int) -> tuple[int, ...]:
    codes = table.table("codes")
    most = (1 << bits) - 1
    found = [
        codes.whole(ink, place if place <= most else None, least=0, most=most)
        for place, ink in enumerate(inks)
        if bits > 1
    ]
    codes.done()
    return tuple(found)


def _network(table: Table) -> Network:
    network = Network(
        ca_file=table.text("ca_file", ""),
        check_dates=table.flag("check_dates", usual=True),
        join_s=table.number("join_s", 45, least=0, most=600),
        quiet_s=table.number("quiet_s", 20, least=0.1, most=300),
        patience_s=table.number("patience_s", 120, least=0.2, most=900),
    )
    table.done()
    return network


def _sensor(top: Table, name: str) -> Sensor | None:
    if not top.has(name):
        return None
    table = top.table(name)
    sensor = Sensor(
        file=table.text("file", ""),
        argv=table.texts("argv"),
        scale=table.number("scale", 1, least=-1e9, most=1e9),
        offset=table.number("offset", 0, least=-1e9, most=1e9),
    )
    if bool(sensor.file) == bool(sensor.argv):
        table.fault("file", "give either file or argv, the file or the command that tells the figure")
    table.done()
    return sensor


def _button(top: Table) -> Button | None:
    if not top.has("button"):
        return None
    table = top.table("button")
    button = Button(
        input=table.text("input", ""),
        chip=table.text("chip", "/dev/gpiochip0"),
        line=table.text("line", ""),
        active_low=table.flag("active_low", usual=True),
        bias=table.text("bias", "pull-up", one_of=("pull-up", "pull-down", "none")),
        long_s=table.number("long_s", 1.5, least=0.3, most=30),
        least_s=table.number("least_s", 15, least=1, most=3600),
    )
    if bool(button.input) == bool(button.line):
        table.fault(
            "line", "give either line, a GPIO line's number or name, or input, such as /dev/input/event0"
        )
    table.done()
    return button

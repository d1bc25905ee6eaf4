"""The server: a house that runs, and listeners on two ports, one for devices, one for people."""

import asyncio
import signal
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from types import MappingProxyType
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from structlog.typing import FilteringBoundLogger

from wallbill.server.health import Verdict, Vitals, live, ready
from wallbill.server.model import Body, Form
from wallbill.server.proxies import Network
from wallbill.server.shell_devices import App, DeviceSettings, device_app
from wallbill.server.shell_house import House
from wallbill.server.shell_listening import Listener, loop_factory, serve
from wallbill.server.shell_logs import routed
from wallbill.server.shell_notify import notify, watchdog_s

_ROUND_S = 1.0


@dataclass(frozen=True, slots=True)
class Doors:
    """Where to listen. ``people``: for the workshop, the metrics and all else; None: nowhere.

    ``workshop``: makes the application for people; it is handed what is not found elsewhere. ``paths``: of its JSON.
    """

    devices: Listener
    people: Listener | None
    trusted: tuple[Network, ...] = ()
    workshop: Callable[[House], App] | None = None
    paths: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))


def run(house: House, doors: Doors, log: FilteringBoundLogger, *, told: Callable[[str, str], None]) -> None:
    """Serves until SIGTERM or SIGINT. ``told``: what listens, and its address. Raises `ListenError`."""
    with routed(log.bind(part="library")), asyncio.Runner(loop_factory=loop_factory()) as runner:
        runner.run(_run(house, doors, told))


async def _run(house: House, doors: Doors, told: Callable[[str, str], None]) -> None:
    stop = asyncio.Event()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(number, stop.set)
    opened: set[str] = set()

    def listening(what: str, address: str) -> None:
        opened.add(what)
        told(what, address)
        if len(opened) == 1 + (doors.people is not None):
            notify("READY=1")

    async with asyncio.TaskGroup() as group:
        group.create_task(_stop_all(house, stop))
        group.create_task(_watchdog(house, stop))
        devices = serve(
            devices_app(house, doors),
            doors.devices,
            stop=stop,
            listening=partial(listening, "devices"),
        )
        group.create_task(_until(devices, stop))
        if doors.people is not None:
            people = serve(
                people_app(house, doors), doors.people, stop=stop, listening=partial(listening, "people")
            )
            group.create_task(_until(people, stop))


async def _until(serving: Any, stop: asyncio.Event) -> None:
    """Serves; where that ends, by a fault or not, everything ends."""
    try:
        await serving
    finally:
        stop.set()


async def _stop_all(house: House, stop: asyncio.Event) -> None:
    await stop.wait()
    notify("STOPPING=1")
    house.stopping.set()
    house.foreman.poke()


async def _watchdog(house: House, stop: asyncio.Event) -> None:
    """Tells the service manager that there is progress, as long as there is."""
    every_s = watchdog_s()
    while not stop.is_set():
        if every_s is not None and live(house.watchman.vitals()).good:
            notify("WATCHDOG=1")
        try:
            await asyncio.wait_for(stop.wait(), _ROUND_S if every_s is None else min(every_s / 2, 30.0))
        except TimeoutError:
            continue


def devices_app(house: House, doors: Doors) -> App:
    """What answers on the devices' port: pictures, reports, health."""
    return _device(house, doors, Starlette(routes=_vital_routes(house)))


def people_app(house: House, doors: Doors) -> App:
    """What answers on the port for people: the same, metrics, and the workshop."""
    app = Starlette(routes=[*_vital_routes(house), Route("/metrics", _metrics(house))])
    if doors.workshop is not None:
        app.mount("/", doors.workshop(house))
    return _device(house, doors, app)


def _device(house: House, doors: Doors, other: App) -> App:
    async def make_body(name: str, form: Form) -> Body:
        return await asyncio.to_thread(house.foreman.body, name, form)

    return device_app(
        house.shelf,
        other,
        make_body=make_body,
        settings=DeviceSettings(
            trusted=doors.trusted,
            answered=house.meters.answered,
            contacted=house.meters.contacted,
            paths=doors.paths,
        ),
    )


def _judged(house: House, judge: Callable[[Vitals], Verdict]) -> Callable[[Request], Any]:
    async def judged(_request: Request) -> Response:
        verdict = judge(house.watchman.vitals())
        return Response(verdict.body, verdict.status, {"Cache-Control": "no-store"}, "application/json")

    return judged


def _vital_routes(house: House) -> list[Any]:
    return [Route("/health", _judged(house, live)), Route("/ready", _judged(house, ready))]


def _metrics(house: House) -> Callable[[Request], Any]:
    async def metrics(request: Request) -> Response:
        page, media_type = house.meters.page(request.headers.get("accept", ""))
        return Response(page, headers={"Content-Type": media_type})

    return metrics

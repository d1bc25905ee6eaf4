"""From the text of ``wall.toml`` to a wall, or to every fault in it."""

import dataclasses
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from pydantic import ValidationError

from wallbill.errors import FaultList, WallbillError, WallError
from wallbill.places.faults import faults_of
from wallbill.places.toml import Places
from wallbill.sources.spec import SourceSpec, kinds
from wallbill.wall.model import (
    Display,
    Interrupt,
    MailSettings,
    Place,
    StoreSettings,
    TimetableEntry,
    Wall,
    WatchSettings,
)
from wallbill.wall.options import option_faults, options_of
from wallbill.wall.tables import DisplayTable, Known, SourceTable, WallFile
from wallbill.wall.tables_server import WatchTable


def read_wall(places: Places, known: Known, *, folder: Path) -> Wall:
    """The wall that a ``wall.toml`` describes.

    ``known``: what it may name. ``folder``: kept as it is. Raises `FaultList` with every fault of the file.
    """
    sources = _tables(places, "sources")
    known = dataclasses.replace(known, sources=tuple(sources))
    faults: list[WallbillError] = []
    file = None
    try:
        file = WallFile.model_validate(dict(places.values), context=known)
    except ValidationError as error:
        faults += faults_of(error, WallFile, place=lambda path: places.place(*path), fault=WallError)
    for name, table in sources.items():
        if isinstance(table, Mapping):
            faults += option_faults(name, table, kinds=kinds(), places=places)
    if file is None or faults:
        raise FaultList(tuple(sorted(faults, key=lambda fault: fault.where.line or 0)))
    return _wall(file, known, places=places, folder=folder)


def _tables(places: Places, key: str) -> Mapping[str, object]:
    found = places.values.get(key, {})
    return found if isinstance(found, Mapping) else {}


def _wall(file: WallFile, known: Known, *, places: Places, folder: Path) -> Wall:
    own = file.wall
    return Wall(
        folder=folder,
        name=own.name,
        place=Place(own.place.latitude, own.place.longitude, own.place.elevation),
        time_zone=own.time_zone,
        language=own.language,
        units=MappingProxyType(dict(own.units)),
        sources=MappingProxyType(
            {name: _source(name, table, places) for name, table in file.sources.items()}
        ),
        displays=MappingProxyType(
            {name: _display(name, table, places) for name, table in file.displays.items()}
        ),
        panels=known.panels,
        contact=own.contact,
        store=StoreSettings(url=file.store.url, keep=file.store.keep),
        watch=_watch(file.watch),
    )


def _watch(table: WatchTable) -> WatchSettings:
    mail = table.mail
    return WatchSettings(
        webhook=table.webhook,
        mail=None
        if mail is None
        else MailSettings(
            to=tuple(mail.to),
            sender=mail.sender,
            host=mail.host,
            port=mail.port_or_usual,
            security=mail.security,
            user=mail.user,
            password=mail.password,
        ),
        missed_wakes=table.missed_wakes,
        battery_ahead=table.battery_ahead,
    )


def _source(name: str, table: SourceTable, places: Places) -> SourceSpec:
    return SourceSpec(
        name=name,
        kind=table.kind,
        options=options_of(table.model_extra or {}),
        every=table.every,
        good_for=table.good_for,
        where=places.place("sources", name),
    )


def _display(name: str, table: DisplayTable, places: Places) -> Display:
    at = ("displays", name)
    return Display(
        name=name,
        panel=table.panel,
        read_from=table.read_from,
        turned=table.turned,
        sheet=table.sheet,
        every=table.every,
        quiet=table.quiet,
        pictures=table.pictures,
        neutrals=table.neutrals,
        timetable=tuple(
            TimetableEntry(
                hours=entry.hours,
                days=entry.days,
                dates=entry.dates,
                sheet=entry.sheet,
                where=places.place(*at, "timetable", position),
            )
            for position, entry in enumerate(table.timetable)
        ),
        interrupts=tuple(
            Interrupt(
                entry.when, entry.sheet, entry.even_quiet, where=places.place(*at, "interrupts", position)
            )
            for position, entry in enumerate(table.interrupts)
        ),
        battery_empty=table.battery_empty,
        where=places.place(*at),
    )

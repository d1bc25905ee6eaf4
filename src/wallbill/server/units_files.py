"""Unit files for systemd: the server, a further worker, and a daily backup, each as shut in as it can be.

Every line that is not plain says why it is there, so that whoever looks after the machine can weigh it. Meanings after the
manual pages systemd.service(5), systemd.exec(5), systemd.resource-control(5) and systemd.timer(5) of edition 252.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from wallbill.errors import WallError

_HOMES = tuple(f"/{top}/" for top in ("home", "root", "run/user"))


@dataclass(frozen=True, slots=True)
class Installation:
    """Where things are on a machine. ``program``, ``folder``: absolute paths of the command and of the wall.

    ``user``: who the wall belongs to; "" for a user that exists only while it runs, and can write nothing but its cache.
    ``options``: added to the command. ``secrets``: names of secrets, each kept in a file of that name in ``secrets_folder``.
    ``memory_mb``: for the server and all of its helpers, mebibytes.
    """

    program: str
    folder: str
    user: str = "wallbill"
    options: tuple[str, ...] = ()
    secrets: tuple[str, ...] = ()
    secrets_folder: str = "/etc/wallbill/secrets"
    memory_mb: int = 2048


def serve_unit(place: Installation) -> str:
    """The unit of ``wallbill serve``, to be named ``wallbill.service``.

    Raises `WallError` for a path that is not absolute, or that no unit file can hold.
    """
    return _unit(
        ("Wallbill: the wall in " + _described(place.folder), *_NETWORK),
        (
            *_LASTING,
            *_run(place, "serve"),
            "# The wall is the one place that the server may write to: its database and kept facts lie in it.",
            f"ReadWritePaths={_path(place.folder)}",
            *_limits(place.memory_mb),
            "# A hall of devices that wakes at once needs as many connections.",
            "LimitNOFILE=16384",
            *_shut_in(place),
        ),
        install="multi-user.target",
    )


def worker_unit(place: Installation) -> str:
    """The unit of ``wallbill worker`` on a further machine, to be named ``wallbill-worker.service``.

    It only reads the wall; what it makes goes to PostgreSQL. Raises `WallError` as `serve_unit`.
    """
    return _unit(
        ("Wallbill: a worker for the wall in " + _described(place.folder), *_NETWORK),
        (*_LASTING, *_run(place, "worker"), *_limits(place.memory_mb), *_shut_in(place)),
        install="multi-user.target",
    )


def backup_unit(place: Installation, *, into: str) -> str:
    """The unit of one backup, ``wallbill backup``, into the folder ``into``; to be named ``wallbill-backup.service``.

    Raises `WallError` as `serve_unit`.
    """
    return _unit(
        ("Wallbill: a backup of the wall in " + _described(place.folder),),
        (
            "Type=oneshot",
            *_run(place, "backup", "--out", into),
            "# SQLite locks its database even to read it, so the wall must be writable.",
            f"ReadWritePaths={_path(place.folder)} {_path(into)}",
            "# A backup may take its time, and must not hold the server up.",
            "TimeoutStartSec=1h",
            "Nice=10",
            "IOSchedulingClass=idle",
            *_limits(place.memory_mb),
            *_shut_in(place),
        ),
    )


def backup_timer() -> str:
    """The timer of the backup, once a day, to be named ``wallbill-backup.timer``."""
    timer = (
        "OnCalendar=daily",
        "# A machine that was off at midnight makes up for it.",
        "Persistent=true",
        "# Not every machine of a house at the same second.",
        "RandomizedDelaySec=1h",
    )
    text = "\n".join(("[Unit]", "Description=Wallbill: a backup each day", "", "[Timer]", *timer, ""))
    return text + "\n[Install]\nWantedBy=timers.target\n"


_NETWORK = (
    "# Sources are fetched from the start, and a clock without a battery is wrong until the network has set it.",
    "Wants=network-online.target time-sync.target",
    "After=network-online.target time-sync.target postgresql.service",
    "# Never give up, however often it has failed: nobody may look for months.",
    "StartLimitIntervalSec=0",
)

_LASTING = (
    "# The server says when it is ready, and then that it makes progress; one that stands still is started anew.",
    "Type=notify",
    "NotifyAccess=main",
    "WatchdogSec=60",
    "Restart=always",
    "RestartSec=5",
    "# Faces are read and the first pages pressed before it is ready; at the end records are written.",
    "TimeoutStartSec=180",
    "TimeoutStopSec=45",
    "# Its helpers are ended by the server; what is left after that is killed.",
    "KillMode=mixed",
    "# A page that needs too much memory ends the helper that presses it, not the server.",
    "OOMPolicy=continue",
)


def _run(place: Installation, command: str, *more: str) -> Iterable[str]:
    """Who runs what, and where it keeps what it can make again."""
    words = (place.program, command, place.folder, *more, *place.options)
    yield "ExecStart=" + " ".join((_path(words[0]), *map(_word, words[1:])))
    if place.user:
        yield f"User={_name(place.user)}"
    else:
        yield "# A user that exists only while this runs: it owns nothing, and finds nothing of others."
        yield "DynamicUser=yes"
    yield "# Fitted faces, which are slow to make, outlive a restart."
    yield "CacheDirectory=wallbill"
    yield "Environment=XDG_CACHE_HOME=%C/wallbill PYTHONUNBUFFERED=1"
    yield "UMask=0077"
    if place.secrets:
        yield "# Handed over as files that only this service can read; they are in no environment and no listing."
    for secret in place.secrets:
        _name(secret)
        yield f"LoadCredential={secret}:{_path(f'{place.secrets_folder}/{secret}')}"


def _limits(memory_mb: int) -> Iterable[str]:
    yield "# A leak is to end in a restart, not in a machine that no one can reach."
    yield f"MemoryMax={memory_mb}M"
    yield "TasksMax=512"


def _shut_in(place: Installation) -> Iterable[str]:
    """The walls around the service: it needs the network, its own files and a processor, and nothing else."""
    homely = any(path.startswith(_HOMES) for path in (place.program, place.folder))
    yield "# No way to more rights than it began with."
    yield from (
        "NoNewPrivileges=yes",
        "CapabilityBoundingSet=",
        "RestrictSUIDSGID=yes",
        "LockPersonality=yes",
    )
    yield "# The system is read-only, devices and other people's processes are out of sight."
    yield from ("ProtectSystem=strict", "PrivateTmp=yes", "PrivateDevices=yes", "ProtectProc=invisible")
    if homely:
        yield "# The wall or the program lies in somebody's home; say yes here when they have moved."
        yield "ProtectHome=read-only"
    else:
        yield "ProtectHome=yes"
    yield "# The kernel, the clock and the host's name are no business of a page of facts."
    for part in ("KernelTunables", "KernelModules", "KernelLogs", "ControlGroups", "Clock", "Hostname"):
        yield f"Protect{part}=yes"
    yield from ("RestrictRealtime=yes", "RestrictNamespaces=yes", "RemoveIPC=yes", "KeyringMode=private")
    yield "# The internet, and local sockets for the database and for word to systemd."
    yield "RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX"
    yield "# What services commonly call. Limits of resources stay allowed: helpers set their own memory limit."
    yield from (
        "SystemCallArchitectures=native",
        "SystemCallFilter=@system-service",
        "SystemCallFilter=~@privileged",
    )
    yield "# A call that is not allowed fails, and is told in the log, instead of ending the process."
    yield "SystemCallErrorNumber=EPERM"
    yield "# MemoryDenyWriteExecute is left out: dithering is compiled to machine code at run time where numba is there."


def _unit(head: tuple[str, ...], service: Iterable[str], *, install: str = "") -> str:
    lines = ["[Unit]", f"Description={head[0]}", *head[1:], "", "[Service]", *service, ""]
    if install:
        lines += ["[Install]", f"WantedBy={install}", ""]
    return "\n".join(lines)


def _described(folder: str) -> str:
    return _plain(folder).replace("%", "%%")


def _path(path: str) -> str:
    """A path as a word of a unit file; raises `WallError` if it is not absolute."""
    if not path.startswith("/"):
        raise WallError(
            f"{path!r} is no absolute path",
            mend="Give it from the root of the disk on, with a slash in front.",
        )
    return _quoted(path)


def _word(word: str) -> str:
    """A word of a command line, in which a dollar sign would name a variable."""
    return _quoted(word).replace("$", "$$")


def _quoted(word: str) -> str:
    text = _plain(word).replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%")
    return text if text and not set(text) & set(" \t\"'\\;") else f'"{text}"'


def _plain(text: str) -> str:
    if not text.isprintable():
        raise WallError(f"{text!r} holds a control character", mend="Rename it; a unit file cannot hold it.")
    return text


def _name(name: str) -> str:
    """A name of a user or a secret; raises `WallError` if it is anything but letters, digits, - and _."""
    if not name or not all(c.isascii() and (c.isalnum() or c in "-_") for c in name) or name[0] == "-":
        raise WallError(f"{name!r} is no name for a unit file", mend="Use letters, digits, - and _ only.")
    return name

"""A window as the panel, for trying things on a desk: a process of its own, fed with one picture after the other."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import Any

from wallbill.agent.device.pictures import png_of
from wallbill.agent.device.plates import split
from wallbill.agent.device.shell_drive import Fed, read_stream

_MOST_OF_SCREEN = 0.9


def window() -> int:
    """Shows what comes on standard input, and says so on standard output, until a person closes the window.

    The end of the input leaves the last picture up: an agent that wakes once has ended long before.
    """
    import tkinter as tk  # noqa: PLC0415  large, and often not installed

    root = tk.Tk()
    label = tk.Label(root, borderwidth=0)
    label.pack()
    kept: list[Any] = [None]  # Tk shows a picture only for as long as somebody holds it

    def come(_stream: object, _mask: int) -> None:
        try:
            fed, info = read_stream(sys.stdin.buffer)
        except ValueError:
            root.tk.deletefilehandler(sys.stdin)
            return
        root.title(f"{info['display']}: {info['panel']}")
        picture = tk.PhotoImage(data=pictured(fed, info))
        across, down = root.winfo_screenwidth(), root.winfo_screenheight()
        times = max(picture.width() / across, picture.height() / down) / _MOST_OF_SCREEN
        kept[0] = picture.subsample(int(times) + 1) if times > 1 else picture
        label.configure(image=kept[0])
        root.update()
        sys.stdout.write("shown\n")
        sys.stdout.flush()

    root.tk.createfilehandler(sys.stdin, tk.READABLE, come)
    root.mainloop()
    return 0


def pictured(fed: Fed, info: Mapping[str, Any]) -> bytes:
    """A PNG of a picture that came as one plane for each ink."""
    colours = tuple(tuple(bytes.fromhex(code[1:])) for code in info["inks"].values())
    picture = split(
        b"".join(fed.planes), width_px=fed.width_px, height_px=fed.height_px, inks=len(fed.planes)
    )
    return png_of(picture, tuple((colour[0], colour[1], colour[2]) for colour in colours))

"""The second engine: headless Chromium, driven over its own debugging protocol through ``playwright``.

For sheets that need what the default engine lacks. Nothing is downloaded: the browser must be installed. It runs
without network, scripts of pages are not run, and fonts reach it as data: addresses inside of the page.
"""

import base64
import io
import os
import shutil
import subprocess
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from concurrent.futures import TimeoutError as LateError
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from PIL import Image

from wallbill.errors import Place, PressError
from wallbill.press.model import Box, Laid, Limits, Page, Restyle, Rgba
from wallbill.press.sfnt import font_label
from wallbill.press.single import Single

if TYPE_CHECKING:
    from playwright.sync_api import Page as Tab
    from playwright.sync_api import Playwright

_T = TypeVar("_T")
LEAST_HEIGHT_PX = (
    90  # below, a new headless browser waits for a frame that never comes (measured: version 156)
)
_PROGRAMS = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "chrome")
_FLAGS = (
    "--headless=new", "--remote-debugging-port=0", "--hide-scrollbars", "--force-device-scale-factor=1",
    "--force-color-profile=srgb", "--disable-lcd-text", "--font-render-hinting=none", "--disable-gpu",
    "--disable-background-networking", "--disable-component-update", "--disable-default-apps",
    "--disable-domain-reliability", "--disable-extensions", "--disable-sync", "--disable-dev-shm-usage",
    "--disable-backgrounding-occluded-windows", "--disable-renderer-backgrounding",
    "--disable-background-timer-throttling", "--disable-back-forward-cache", "--disable-breakpad",
    "--disable-hang-monitor", "--disable-ipc-flooding-protection", "--disable-search-engine-choice-screen",
    "--metrics-recording-only", "--mute-audio", "--no-first-run", "--no-default-browser-check",
    "--no-pings", "--no-service-autorun", "--password-store=basic", "--use-mock-keychain",
    "--host-resolver-rules=MAP * ~NOTFOUND", "--proxy-server=127.0.0.1:9", "--lang=en-GB", "about:blank",
)  # fmt: skip
_GUARD = (
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
    'img-src data:; font-src data:">'
)
_BOXES = """() => Object.fromEntries([...document.querySelectorAll('[id]')].map(e => {
  const r = e.getBoundingClientRect(); return [e.id, [r.x + scrollX, r.y + scrollY, r.width, r.height]] }))"""
_RESTYLE = """changes => { for (const [id, name, value] of changes) {
  const e = document.getElementById(id); if (e) e.style.setProperty(name, value) } }"""
_READY = "() => document.fonts.ready.then(() => Promise.all([...document.images].map(i => i.decode().catch(() => 0))))"


class _Browser:
    """A running browser with one tab. Its methods must be called from one thread, the one that made it."""

    def __init__(self, limits: Limits, *, register: Callable[[subprocess.Popen[bytes]], None]) -> None:
        self._undo = ExitStack()
        with self._undo:  # whatever has been opened is closed again if a later step fails
            folder = self._undo.enter_context(
                tempfile.TemporaryDirectory(prefix="wallbill-chromium-", ignore_cleanup_errors=True)
            )
            process = _launch(folder)
            self._undo.callback(kill, process)
            register(process)
            address = _address(Path(folder), process, limits.start_s)
            driver = _driver()
            self._undo.callback(_stop, driver)
            browser = driver.chromium.connect_over_cdp(address, timeout=limits.start_s * 1000)
            context = browser.new_context(java_script_enabled=False, offline=True, accept_downloads=False)
            self.tab: Tab = context.new_page()
            self.tab.screenshot(
                timeout=limits.start_s * 1000
            )  # the first one is slow; let it count as starting
            self.tab.set_default_timeout(limits.page_s * 1000)
            self._undo = self._undo.pop_all()

    def end(self) -> None:
        """Ends the browser and its driver."""
        self._undo.close()


def _stop(driver: "Playwright") -> None:
    with suppress(Exception):  # the driver may have lost its browser
        driver.stop()


def kill(process: subprocess.Popen[bytes]) -> None:
    """Ends a browser at once, with all the processes of its group."""
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(process.pid, 9)
    process.wait()


def _driver() -> "Playwright":
    try:
        from playwright.sync_api import sync_playwright  # noqa: PLC0415 - an extra that need not be installed
    except ImportError:
        raise PressError(
            "the Chromium engine needs the package playwright",
            mend="install Wallbill with its extra: pip install 'wallbill[chromium]'",
        ) from None
    return sync_playwright().start()


def _launch(folder: str) -> "subprocess.Popen[bytes]":
    program = next(filter(None, map(shutil.which, _PROGRAMS)), None)
    if program is None:
        raise PressError(
            "no Chromium is installed",
            mend="install it with the system's packages (apt install chromium), or press with the engine blitz",
        )
    root = ("--no-sandbox",) if os.geteuid() == 0 else ()
    return subprocess.Popen(  # noqa: S603 - found on the path by its name
        [program, *root, f"--user-data-dir={folder}", *_FLAGS],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip


def _address(folder: Path, process: "subprocess.Popen[bytes]", start_s: float) -> str:
    """The debugging address, which the browser writes into its folder once it is up."""
    port, until_s = folder / "DevToolsActivePort", time.monotonic() + start_s
    while time.monotonic() < until_s and process.poll() is None:
        lines = port.read_text(encoding="ascii").splitlines() if port.exists() else []
        if len(lines) == 2:
            return f"ws://127.0.0.1:{lines[0]}{lines[1]}"
        time.sleep(0.02)
    kill(process)
    raise PressError(
        f"Chromium did not come up within {start_s:g} s",
        mend="start it by hand with --headless to see why, or press with the engine blitz",
    )


def _with_fonts(page: Page) -> str:
    """The page with a guard against loading anything and its fonts as faces, behind the doctype."""
    faces = []
    for data in page.fonts:
        label = font_label(data)
        name = label.family.replace("\\", "\\\\").replace('"', '\\"')
        faces.append(
            f'@font-face{{font-family:"{name}";font-weight:{label.weight};font-display:block;'
            f"font-style:{'italic' if label.italic else 'normal'};"
            f"src:url(data:font/ttf;base64,{base64.b64encode(data).decode()})}}"
        )
    head = f"{_GUARD}<style>{''.join(faces)}</style>"
    start = page.html.find(">") + 1 if page.html.lstrip()[:9].lower() == "<!doctype" else 0
    return f"{page.html[:start]}{head}{page.html[start:]}"


class _LaidPage:
    """Keeps `Laid` in the browser's tab."""

    def __init__(self, engine: "ChromiumEngine", page: Page) -> None:
        self._engine = engine
        self._page = page
        self._do(self._load)

    def boxes(self) -> Mapping[str, Box]:
        found = self._do(lambda tab: tab.evaluate(_BOXES))
        return {name: Box(*rect) for name, rect in found.items()}

    def restyle(self, changes: Sequence[Restyle]) -> None:
        self._do(lambda tab: tab.evaluate(_RESTYLE, [list(change) for change in changes]))

    def paint(self) -> Rgba:
        png = self._do(
            lambda tab: tab.screenshot(animations="disabled", caret="hide", scale="css", type="png")
        )
        with Image.open(io.BytesIO(png)) as image:
            return np.array(image.convert("RGBA"))

    def _do(self, what: "Callable[[Tab], _T]") -> _T:
        return self._engine.do(self._page, what)

    def _load(self, tab: "Tab") -> None:
        tab.set_viewport_size({"width": self._page.width_px, "height": self._page.height_px})
        tab.set_content(_with_fonts(self._page), wait_until="load")
        tab.evaluate(_READY)


class ChromiumEngine(Single):
    """Keeps `Engine` with headless Chromium. May be used from several threads: one page at a time."""

    name = "chromium"

    def __init__(self, *, limits: Limits) -> None:
        self._limits = limits
        self._lock = threading.RLock()
        self._thread: ThreadPoolExecutor | None = None
        self._browser: _Browser | None = None
        self._process: subprocess.Popen[bytes] | None = None
        self._pages = 0

    @contextmanager
    def lay(self, page: Page) -> Iterator[Laid]:
        """The page parsed and laid out, until the context is left. Raises `PressError`."""
        if page.height_px < LEAST_HEIGHT_PX:
            raise PressError(
                f"Chromium does not reliably paint a page of {page.height_px} px height", where=Place(page.name),
                mend=f"press it with the engine blitz, or make it at least {LEAST_HEIGHT_PX} px high",
            )  # fmt: skip
        with self._lock:
            self._pages += 1
            if self._pages > self._limits.pages:
                self.close()
            yield _LaidPage(self, page)

    def close(self) -> None:
        """Ends the browser; may be called twice. The engine may be used again and then starts a new one."""
        with self._lock:
            if self._process:
                kill(self._process)
            if self._thread:
                browser = self._browser
                if browser:
                    with suppress(Exception):
                        self._thread.submit(browser.end).result(self._limits.start_s)
                self._thread.shutdown(wait=False)
            self._thread = self._browser = self._process = None
            self._pages = 0

    def do(self, page: Page, what: "Callable[[Tab], _T]") -> _T:
        """Does something with the tab in the browser's own thread, within the time limit."""
        if self._browser is None:
            self._start(page)
        assert self._thread is not None
        assert self._browser is not None
        tab = self._browser.tab
        try:
            return self._thread.submit(what, tab).result(self._limits.page_s)
        except LateError:
            why, late = f"the page is not done within {self._limits.page_s:g} s", True
        except Exception as fault:  # noqa: BLE001 - the driver has errors of its own; all end the browser
            why, late = f"Chromium failed on the page: {str(fault).splitlines()[0]}", "Timeout" in str(fault)
        self.close()
        raise PressError(
            f"{why} ({page.width_px} x {page.height_px} px)", where=Place(page.name),
            mend="make the page simpler" if late else "look for what no browser can show at this size",
        )  # fmt: skip

    def _start(self, page: Page) -> None:
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="wallbill-chromium")
        try:
            self._browser = self._thread.submit(
                lambda: _Browser(self._limits, register=self._register)
            ).result(self._limits.start_s * 2)
        except PressError as fault:
            self.close()
            raise PressError(fault.what, where=Place(page.name), mend=fault.mend) from None
        except Exception as fault:
            self.close()
            raise PressError(
                f"Chromium does not start: {type(fault).__name__} {str(fault).splitlines()[:1]}", where=Place(page.name),
                mend="start chromium --headless by hand to see why, or press with the engine blitz",
            ) from fault  # fmt: skip

    def _register(self, process: "subprocess.Popen[bytes]") -> None:
        self._process = process

"""An invented board and an invented panel of three inks: a skeleton to put your own numbers into.

All pins, commands and times stand in the constants. Take them from the data sheet of your panel and board.

Lithium cells can catch fire. Use a cell with a protection circuit, charge it only with a charger made for it, never below
0 C and never unwatched at first; no screw point, edge or pressure near it, no sun on it. Let the board stop well
above the cell's lowest voltage. A cell that is swollen, hot or dented goes to a collection point. Follow its maker's sheet.
"""

import machine
import network
from shell_flash import load_lines
from shell_wire import pause_ms, ticks_diff, ticks_ms
from twin_rules import day_s

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

# The board.
PIN_CLOCK, PIN_DATA, PIN_SELECT, PIN_COMMAND, PIN_RESET, PIN_BUSY = 12, 11, 10, 9, 8, 7
PIN_POWER, PIN_BUTTON, PIN_BATTERY = 6, 5, 4
DIVIDER = 2  # two equal resistors halve the battery's voltage for the converter
JOIN_MS = 15000  # a join that fails is the dearest thing a wake can do: cut it short
LONGEST_SLEEP_MS = 4000000  # some boards count their sleep in 32 bits of microseconds
UNIX_2000_S = 946684800  # the clock below counts years from 2000

# The panel: plates come in the order of its inks, here black, white, red. For each: the command that takes it, None
# where the panel has no memory for it, and what its bits are turned with.
PLATE_BYTES = 81 * 480  # 648 x 480 pixels
PLATES = (
    (0x10, 0xFF),
    (None, 0x00),
    (0x13, 0x00),
)  # black is 0 in this panel's first memory, red is 1 in its second
WAKE, REFRESH, REST = 0x04, 0x12, 0x07
BUSY_MS = 40000  # longer than its slowest refresh


class HutPanel:
    """The driver object: takes plates into the panel's frame memory and refreshes."""

    def __init__(self) -> None:
        self._bus: Any = machine.SPI(
            1, baudrate=4000000, sck=machine.Pin(PIN_CLOCK), mosi=machine.Pin(PIN_DATA)
        )
        self._select: Any = machine.Pin(PIN_SELECT, machine.Pin.OUT, value=1)
        self._command: Any = machine.Pin(PIN_COMMAND, machine.Pin.OUT, value=1)
        self._reset: Any = machine.Pin(PIN_RESET, machine.Pin.OUT, value=1)
        self._power: Any = machine.Pin(PIN_POWER, machine.Pin.OUT, value=0)
        self._busy: Any = machine.Pin(PIN_BUSY, machine.Pin.IN)
        self._turned = bytearray(64)
        self._plate = self._left = 0

    def begin(self) -> None:
        """Switches the panel on and starts its first plate."""
        self._power.value(1)
        pause_ms(20)
        self._reset.value(0)
        pause_ms(10)
        self._reset.value(1)
        self._send(WAKE)
        self._until_free()
        self._plate, self._left = -1, 0

    def show(self, block: memoryview) -> None:
        """Takes the next bytes; a block may end one plate and begin the next."""
        while block:
            if not self._left:
                self._plate, self._left = self._plate + 1, PLATE_BYTES
                if PLATES[self._plate][0] is not None:
                    self._send(PLATES[self._plate][0])
            size = min(len(block), self._left, len(self._turned))
            if PLATES[self._plate][0] is not None:
                for place in range(size):
                    self._turned[place] = block[place] ^ PLATES[self._plate][1]
                self._write(memoryview(self._turned)[:size])
            self._left -= size
            block = block[size:]

    def commit(self) -> None:
        """Refreshes and waits for the end."""
        try:
            self._send(REFRESH)
            self._until_free()
        finally:
            self.abandon()

    def abandon(self) -> None:
        """Switches the panel off: what it shows stays."""
        self._send(REST)
        self._power.value(0)

    def _send(self, command: "int | None") -> None:
        self._command.value(0)
        self._write(memoryview(bytes([command or 0])))
        self._command.value(1)

    def _write(self, data: memoryview) -> None:
        self._select.value(0)
        self._bus.write(data)
        self._select.value(1)

    def _until_free(self) -> None:
        """Waits until the panel is done; a panel that never is must not hold the board awake."""
        began_ms = ticks_ms()
        pause_ms(10)
        while self._busy.value():
            if ticks_diff(ticks_ms(), began_ms) > BUSY_MS:
                raise OSError("the panel does not answer")
            pause_ms(20)


class HutNetwork:
    """Joins the network whose name and passphrase are the two lines of ``network.txt``."""

    def __init__(self) -> None:
        self._radio: Any = network.WLAN(network.WLAN.IF_STA)

    def join(self) -> None:
        """Joins, or raises `OSError` before it costs too much."""
        name, passphrase = load_lines("network.txt", 2)
        self._radio.active(True)
        self._radio.connect(name, passphrase)
        began_ms = ticks_ms()
        while not self._radio.isconnected():
            if ticks_diff(ticks_ms(), began_ms) > JOIN_MS:
                raise OSError("no network")
            pause_ms(50)

    def leave(self) -> None:
        """Switches the radio off."""
        self._radio.active(False)

    def signal_dbm(self) -> "int | None":
        """How strong the network is heard."""
        return int(self._radio.status("rssi"))


class HutClock:
    """The board's own clock, which runs on in deep sleep and starts anew after a power cut."""

    def __init__(self) -> None:
        self._clock: Any = machine.RTC()

    def now_s(self) -> int:
        """Unix time."""
        now: Any = self._clock.datetime()  # year, month, day, weekday, hour, minute, second, part of it
        moment_s: int = day_s(now[0], now[1], now[2]) + now[4] * 3600 + now[5] * 60 + now[6]
        return moment_s

    def set_s(self, moment_s: int) -> None:
        """Sets the clock."""
        left_s = moment_s % 86400
        year = 2000 + (moment_s - UNIX_2000_S) // 31557600
        while day_s(year + 1, 1, 1) <= moment_s:
            year += 1
        month = 1
        while month < 12 and day_s(year, month + 1, 1) <= moment_s:
            month += 1
        day = (moment_s - day_s(year, month, 1)) // 86400 + 1
        weekday = (moment_s // 86400 + 3) % 7
        hour, minute, second = left_s // 3600, left_s // 60 % 60, left_s % 60
        self._clock.datetime((year, month, day, weekday, hour, minute, second, 0))


class HutBoard:
    """The whole board."""

    def __init__(self) -> None:
        self.driver = HutPanel()
        self.network = HutNetwork()
        self.clock = HutClock()
        self._button: Any = machine.Pin(PIN_BUTTON, machine.Pin.IN, machine.Pin.PULL_UP)

    def battery_mv(self) -> "int | None":
        """The battery's voltage, with the radio on: that is the load under which it must last."""
        return int(machine.ADC(PIN_BATTERY).read_uv() * DIVIDER // 1000)

    def temperature_c(self) -> "float | None":
        """This board has no thermometer. One behind the panel keeps it from being refreshed in the frost."""
        return None

    def is_held(self) -> bool:
        """Whether somebody holds the button down."""
        return not self._button.value()

    def woken_by(self) -> str:
        """What woke the board."""
        if machine.reset_cause() != machine.DEEPSLEEP_RESET:
            return "power"
        return "button" if machine.wake_reason() == machine.PIN_WAKE else "timer"

    def end_after_minutes(self, most: int) -> None:
        """Whatever hangs, the board sleeps an hour after ``most`` minutes, so that it does not empty its battery."""
        machine.Timer(0).init(
            mode=machine.Timer.ONE_SHOT, period=most * 60000, callback=lambda _: self.sleep(3600)
        )

    def tell(self, text: str) -> None:
        """Says something to whoever has a cable in it."""
        machine.UART(0, 115200).write(text + "\r\n")

    def sleep(self, wait_s: int) -> None:
        """Deep sleep; the board starts anew after it."""
        machine.deepsleep(min(wait_s * 1000, LONGEST_SLEEP_MS))

"""How often somebody may ask: buckets of tokens, as many as fit a bounded memory. No clock of its own."""

from collections import OrderedDict
from dataclasses import dataclass, field
from ipaddress import IPv6Address, ip_address, ip_network


@dataclass(frozen=True, slots=True)
class Rate:
    """A bucket that holds ``burst`` tokens and is filled up with ``per_s`` of them a second."""

    per_s: float
    burst: int

    def __post_init__(self) -> None:
        if self.per_s <= 0 or self.burst < 1:
            raise ValueError(f"a rate is more than none, got {self.per_s} a second, {self.burst} at once")


@dataclass(frozen=True, slots=True)
class Limits:
    """What the devices' addresses put up with.

    ``display``: requests of one display, whoever makes them with its key. ``refused``: requests of one address that show
    no good key. ``most_counted``: displays, and addresses, that are counted at once.
    """

    display: Rate = field(default=Rate(1.0, 60))
    refused: Rate = field(default=Rate(0.5, 30))
    most_counted: int = 16_384


class Buckets:
    """A bucket for each name. Of more names than ``most``, the one that has been quiet longest is forgotten.

    Each is kept as one moment: when it would be full again (the generic cell rate algorithm, ITU-T I.371, from memory).
    """

    def __init__(self, rate: Rate, *, most: int) -> None:
        self._step_s = 1 / rate.per_s
        self._slack_s = (rate.burst - 1) * self._step_s
        self._most = most
        self._full_s: OrderedDict[str, float] = OrderedDict()

    def __len__(self) -> int:
        return len(self._full_s)

    def take(self, name: str, now_s: float) -> float:
        """Takes a token; gives 0, or how many seconds it is until there is one. ``now_s``: of a clock that never jumps."""
        full_s = self._full_s.get(name, now_s)
        if full_s <= now_s:
            full_s = now_s
        elif full_s - now_s > self._slack_s:
            return full_s - now_s - self._slack_s
        self._full_s[name] = full_s + self._step_s
        self._full_s.move_to_end(name)
        if len(self._full_s) > self._most:
            self._full_s.popitem(last=False)
        return 0.0


def counted_as(peer: str) -> str:
    """The name under which a peer's address is counted: of IPv6 its network of 64 bits, which one household has."""
    try:
        address = ip_address(peer.partition("%")[0])
    except ValueError:
        return peer[:64]
    if isinstance(address, IPv6Address):
        if address.ipv4_mapped is not None:
            return str(address.ipv4_mapped)
        return str(ip_network((address, 64), strict=False))
    return str(address)

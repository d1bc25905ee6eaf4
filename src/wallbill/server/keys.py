"""Keys of displays: how they are made and kept.

A key is 160 bits of randomness and two letters that catch slips of the pen. Only its SHA-256 is kept. A slow hash, as
passwords need, would guard nothing: there are no likely keys to try first, and it would cost every answer its time.
"""

import hashlib
from types import MappingProxyType

_LETTERS = "0123456789abcdefghjkmnpqrstvwxyz"  # no i, l, o, u: they look like others, or make words
_KEY_BYTES = 20
_KEY_LETTERS = 32
_PRIME = 1021  # below 32², so that two letters hold a remainder; any one letter, or two neighbours swapped, change it
_GROUP = 4

# What people and devices make of a key on the way, undone: capitals, hyphens left out, letters mistaken.
_PLAIN = MappingProxyType(
    {**{ord(c): c.lower() for c in "ABCDEFGHJKMNPQRSTVWXYZ"}, **{ord(c): "1" for c in "iIlL"},
     **{ord(c): "0" for c in "oO"}, ord("-"): None}
)  # fmt: skip


def new_key(random: bytes) -> str:
    """A key of 34 letters and digits in groups of four, safe in a URL. ``random``: 20 bytes nobody else knows.

    Raises `ValueError` for another count of bytes.
    """
    if len(random) != _KEY_BYTES:
        raise ValueError(f"a key is made of {_KEY_BYTES} bytes, not {len(random)}")
    number = int.from_bytes(random)
    letters = "".join(_LETTERS[number >> 5 * place & 31] for place in reversed(range(_KEY_LETTERS)))
    letters += _check(letters)
    return "-".join(letters[at : at + _GROUP] for at in range(0, len(letters), _GROUP))


def is_whole(key: str) -> bool:
    """Whether ``key`` can be one of `new_key`'s: False after a slip of the pen."""
    plain = key.translate(_PLAIN)
    fits = len(plain) == _KEY_LETTERS + 2 and set(plain) <= set(_LETTERS)
    return fits and _check(plain[:_KEY_LETTERS]) == plain[_KEY_LETTERS:]


def key_digest(key: str) -> str:
    """SHA-256 in hex of a key; capitals, hyphens, and letters that look like a 0 or a 1 make no difference."""
    return hashlib.sha256(key.translate(_PLAIN).encode("utf-8", "replace")).hexdigest()


def _check(letters: str) -> str:
    """Two letters: the remainder of the number that ``letters`` write, by a prime."""
    number = 0
    for letter in letters:
        number = (number * 32 + _LETTERS.index(letter)) % _PRIME
    return _LETTERS[number >> 5] + _LETTERS[number & 31]

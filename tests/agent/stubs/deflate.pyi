from typing import Any

ZLIB: int

class DeflateIO:
    def __init__(self, stream: Any, form: int = ..., window_bits: int = ..., close: bool = ...) -> None: ...
    def readinto(self, buffer: bytearray) -> int: ...

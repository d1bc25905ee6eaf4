"""What every engine does alike, made of the one thing that each does its own way: laying a page out."""

from collections.abc import Mapping
from contextlib import AbstractContextManager
from types import TracebackType
from typing import Self

import numpy as np

from wallbill.press.model import Box, Laid, Page, Painted


class Single:
    """The base of an engine: one page at a time, from `lay`; used as a context, it is closed at the end."""

    def lay(self, page: Page) -> AbstractContextManager[Laid]:
        """The page parsed and laid out, until the context is left. Raises `PressError`."""
        raise NotImplementedError

    def close(self) -> None:
        """Ends the engine's process; may be called twice."""
        raise NotImplementedError

    def boxes(self, page: Page) -> Mapping[str, Box]:
        """Box of every element with an id, without painting. Raises `PressError`."""
        with self.lay(page) as laid:
            return laid.boxes()

    def paint(self, page: Page) -> Painted:
        """The page as it looks, with its boxes. Raises `PressError`."""
        with self.lay(page) as laid:
            return Painted(np.ascontiguousarray(laid.paint()[..., :3]), laid.boxes())

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

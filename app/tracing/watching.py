"""Who is told how reading goes on: in words, and with the picture as far as it has come."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from app.tracing.found import FoundPicture


class Watch:
    """One who does not listen; whoever does overrides what is wanted."""

    def step(self, words: str) -> None:
        """What is done now, as “finding the marker sheets”."""

    def show(self, picture: Callable[[], FoundPicture]) -> None:
        """The picture as far as it is known, made when it is called for; it takes the place of the one before."""


#: Nobody listens.
UNWATCHED = Watch()

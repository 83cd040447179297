"""What a body must pass to get into a garment, how far its cloth stretches, and where it opens."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from geometry.errors import PatternError


class Girth(StrEnum):
    """A girth of the body that has to pass an opening."""

    HEAD = "head"
    HIP = "hip"
    HAND = "hand"


class OpeningKind(StrEnum):
    """How a garment opens and closes."""

    ZIP = "zip"
    BUTTONS = "buttons"
    PLACKET = "placket"
    SLIT = "slit"


@dataclass(frozen=True)
class Opening:
    """An edge, with what it is sewn to, left open from one of its corners on.

    ``end`` ("start" or "end" in outline order) is the corner it opens from. It reaches ``length`` mm, or to the
    ``notch`` of that edge; with neither it is open all along.
    """

    id: str
    name: str
    kind: OpeningKind
    piece: str
    edge: str
    end: str = "start"
    notch: str | None = None
    length: float | None = None

    def __post_init__(self) -> None:
        if self.end not in ("start", "end"):
            raise PatternError(f"Opening “{self.name}” starts at neither end of its edge.", self.piece, self.edge)
        if self.notch is not None and self.length is not None:
            raise PatternError(
                f"Opening “{self.name}” has a length and a notch where it stops; leave one out.", self.piece, self.edge
            )


#: Girths (mm) that stand in where a garment names none. Hip: published envelope table, misses, size 14 (38 in). Head,
#: and the hand with its thumb laid in: common practice, no source.
USUAL_GIRTHS: Mapping[Girth, float] = MappingProxyType({Girth.HEAD: 580.0, Girth.HIP: 38 * 25.4, Girth.HAND: 230.0})
#: By how much more than the girth an opening has to give (mm).
ROOM: Mapping[Girth, float] = MappingProxyType({Girth.HEAD: 10.0, Girth.HIP: 0.0, Girth.HAND: 0.0})
#: The usable stretch of a knit that was not measured, in percent: a steady knit's, from memory. A woven cloth has none.
USUAL_STRETCH = 25.0


def stretched(rest: float, percent: float) -> float:
    """The length (mm) that a length at rest gives: stretch in percent = (stretched - rest) / rest x 100."""
    return rest * (1 + percent / 100)

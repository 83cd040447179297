"""The arrangement of a print while it is changed by hand: pieces moved and turned, undone, laid out again. No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import shapely

from geometry.arranging import turns_freely
from geometry.drawing import Box, Drawing, Placed
from geometry.laid_by_hand import (
    Arrangement,
    LaidPiece,
    Shapes,
    arrangement_of,
    lay_as,
    overlap_words,
    slid,
    turned,
)
from geometry.motions import Point
from geometry.sheets import Page, Sheet, SheetSettings, tile

#: So many pieces as they were laid are remembered at most; a drag makes many.
MOST_KEPT = 400


@dataclass(frozen=True, eq=False)
class Laid:
    """One arrangement looked at: its sheet and pages, and which pieces lie over each other."""

    arrangement: Arrangement
    sheet: Sheet
    pages: tuple[Page, ...]
    over: tuple[tuple[str, str], ...]

    @property
    def sheets(self) -> int:
        """How many pages carry ink."""
        return sum(not page.skipped for page in self.pages)

    @property
    def wrong(self) -> frozenset[str]:
        """The pieces that lie over others."""
        return frozenset(piece for pair in self.over for piece in pair)

    def refused(self) -> str:
        """Why it cannot be printed, in one sentence; empty where it can."""
        return overlap_words(self.sheet, self.over) if self.over else ""

    def beyond(self, trial: Arrangement) -> tuple[float, float]:
        """By how much (mm) the pieces were brought back by whole pages from where a trial laid them."""
        first = next(one for one in self.arrangement if one.piece == trial[0].piece)
        return (first.at[0] - trial[0].at[0], first.at[1] - trial[0].at[1])


class Laying:
    """The pieces of one print on one kind of page. ``own`` is how the program lays them, ``now`` how they lie."""

    def __init__(
        self, own: Sheet, settings: SheetSettings, lay: Callable[[Arrangement], Sheet], *, freely: bool = False
    ) -> None:
        """``lay`` gives the sheet that is printed of an arrangement; with ``freely`` every piece may lie askew on the
        paper, its grainline with it."""
        self.settings = settings
        self._lay, self._freely = lay, freely
        self.drawings: Sequence[Drawing] = tuple(one.drawing for one in own.placed)
        self._of = {drawing.piece_id: drawing for drawing in self.drawings}
        self._shapes = Shapes(self.drawings)
        self._kept: dict[LaidPiece, Placed] = {}
        self.own = self.tried(arrangement_of(own))
        self.now = self.own
        self._before: list[Laid] = []
        self._after: list[Laid] = []

    @property
    def by_hand(self) -> bool:
        """Whether they lie otherwise than the program lays them."""
        return self.now.arrangement != self.own.arrangement

    @property
    def can_undo(self) -> bool:
        return bool(self._before)

    @property
    def can_redo(self) -> bool:
        return bool(self._after)

    def tried(self, arrangement: Arrangement) -> Laid:
        """Another arrangement, looked at without being taken; its sheet has the pieces as they were lettered last."""
        if len(self._kept) > MOST_KEPT:
            self._kept.clear()
        sheet = lay_as(self.drawings, arrangement, self.settings, self._kept)
        return Laid(arrangement_of(sheet), sheet, tile(sheet, self.settings), self._shapes.overlapping(sheet))

    def take(self, arrangement: Arrangement) -> None:
        """Lay the pieces so; it can be undone. Raises PatternError as ``tried`` does, and changes nothing then.

        Where no piece lies over another the sheet is the very one that is printed.
        """
        laid = self.tried(arrangement)
        if not laid.over:
            laid = replace(laid, sheet=self._lay(laid.arrangement))
        if laid.arrangement != self.now.arrangement:
            self._before.append(self.now)
            self._after.clear()
            self.now = laid

    def undo(self) -> None:
        if self._before:
            self._after.append(self.now)
            self.now = self._before.pop()

    def redo(self) -> None:
        if self._after:
            self._before.append(self.now)
            self.now = self._after.pop()

    def lay_out_again(self) -> None:
        """Back to how the program lays them; it can be undone."""
        self.take(self.own.arrangement)

    def turns_freely(self, piece: str) -> bool:
        """Whether it may be turned by any angle, or by quarters only."""
        return self._freely or turns_freely(self._of[piece])

    def slid(self, piece: str, dx: float, dy: float) -> Arrangement:
        """The arrangement with one piece moved by (dx, dy) mm."""
        return tuple(slid(one, dx, dy) if one.piece == piece else one for one in self.now.arrangement)

    def turned(self, piece: str, degrees: float) -> Arrangement:
        """The arrangement with one piece turned anticlockwise about its middle."""
        laid = self.now.arrangement
        return tuple(turned(one, self._of[piece], degrees) if one.piece == piece else one for one in laid)

    def box(self, piece: str) -> Box:
        """The box of a piece as it lies now (mm, y up)."""
        return next(one.there.bounds() for one in self.now.sheet.placed if one.piece_id == piece)

    def piece_at(self, point: Point, chosen: str = "") -> str:
        """The piece under a point of the sheet, the chosen one before others that lie there too; empty for none."""
        found = [
            one.piece_id for one in self.now.sheet.placed
            if shapely.intersects_xy(self._shapes.of(one.piece_id), *one.motion.undone().point(point))
        ]
        return chosen if chosen in found else next(reversed(found), "")

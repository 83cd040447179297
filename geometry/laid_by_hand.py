"""An arrangement of pieces on the sheet as plain values: read from a sheet, changed by hand, laid again.

On paper only: never an arrangement on cloth. The sheet is in mm, y up; joins of pages run where they do for a sheet
whose lower left corner is (0, 0), so that pieces moved beyond it are brought back by whole pages.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import MutableMapping, Sequence
from dataclasses import dataclass, replace

import shapely

from geometry.arranging import shape_of
from geometry.drawing import Box, Drawing, Placed
from geometry.errors import PatternError
from geometry.motions import Motion, Point
from geometry.shape_cells import INSET_MM
from geometry.sheets import LINE_MM, Sheet, SheetSettings

#: Turns are kept to a thousandth of a degree, places to a millionth of a mm, so that a file gives the same ones back.
TURN_PLACES, AT_PLACES = 3, 6
#: No piece is laid so far out (mm): beyond it there is no sheet that anyone would tape.
FARTHEST_MM = 10_000.0
_QUARTERS = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}


@dataclass(frozen=True)
class LaidPiece:
    """Where a piece lies: turned anticlockwise by ``turned_deg`` about its own origin, which then comes to ``at``."""

    piece: str
    turned_deg: float
    at: Point

    @property
    def motion(self) -> Motion:
        turned = self.turned_deg % 360.0
        radians = math.radians(turned)
        cos, sin = _QUARTERS.get(turned, (math.cos(radians), math.sin(radians)))
        return Motion(cos, sin, -sin, cos, *self.at)


Arrangement = tuple[LaidPiece, ...]


def laid_piece(piece: str, motion: Motion) -> LaidPiece:
    """Where a motion lays a piece. Raises PatternError for a motion that stretches or mirrors, or leads nowhere."""
    six = (motion.a, motion.b, motion.c, motion.d, motion.e, motion.f)
    turned = math.isclose(motion.a, motion.d, abs_tol=1e-4) and math.isclose(motion.b, -motion.c, abs_tol=1e-4)
    if not turned or not math.isclose(math.hypot(motion.a, motion.b), 1.0, abs_tol=1e-4):
        raise PatternError(f"“{piece}” would be stretched or mirrored; pieces are only turned and moved.", piece)
    if not all(math.isfinite(value) for value in six) or max(abs(motion.e), abs(motion.f)) > FARTHEST_MM:
        raise PatternError(f"“{piece}” would lie more than {FARTHEST_MM / 1000:g} m from the sheet's corner.", piece)
    at = (round(motion.e, AT_PLACES) + 0.0, round(motion.f, AT_PLACES) + 0.0)
    return LaidPiece(piece, _kept(motion.turned_deg), at)


def arrangement_of(sheet: Sheet) -> Arrangement:
    """How the pieces of a sheet are laid."""
    return tuple(laid_piece(one.piece_id, one.motion) for one in sheet.placed)


def lay_as(
    drawings: Sequence[Drawing], arrangement: Arrangement, settings: SheetSettings,
    kept: MutableMapping[LaidPiece, Placed] | None = None,
) -> Sheet:
    """The drawings laid so, moved by whole pages so that they begin on the first page across and the last one down.

    ``kept`` remembers pieces that were laid before, for asking again and again about the same drawings.
    Raises PatternError for a piece that the arrangement does not name, or names twice, or that is not there.
    """
    _check(drawings, arrangement)
    kept = {} if kept is None else kept
    placed = _placed(drawings, arrangement, kept)
    begins = [min(one.there.bounds()[axis] for one in placed) - LINE_MM for axis in (0, 1)]
    before = [math.floor(begin / step + 1e-9) for begin, step in zip(begins, settings.step, strict=True)]
    if any(before):
        dx, dy = (-count * step for count, step in zip(before, settings.step, strict=True))
        placed = _placed(drawings, tuple(slid(one, dx, dy) for one in arrangement), kept)
    ends = [max(one.there.bounds()[axis] for one in placed) + LINE_MM for axis in (2, 3)]
    columns, rows = (
        max(1, math.ceil((end - settings.overlap_mm) / step - 1e-9))
        for end, step in zip(ends, settings.step, strict=True)
    )
    return Sheet(placed, *settings.size_of(columns, rows))


def _check(drawings: Sequence[Drawing], arrangement: Arrangement) -> None:
    named = [one.piece for one in arrangement]
    known = {drawing.piece_id for drawing in drawings}
    for piece in named:
        if piece not in known:
            says = f"The arrangement lays a piece “{piece[:40]}”, which this garment has not; lay the pieces out again."
            raise PatternError(says)
        if named.count(piece) > 1:
            raise PatternError(f"The arrangement lays “{piece[:40]}” twice; it should lay each piece once.", piece)
    for drawing in drawings:
        if drawing.piece_id not in named:
            says = f"The arrangement does not say where “{drawing.name}” lies; lay the pieces out again."
            raise PatternError(says, drawing.piece_id)


def _placed(
    drawings: Sequence[Drawing], arrangement: Arrangement, kept: MutableMapping[LaidPiece, Placed]
) -> tuple[Placed, ...]:
    laid = {one.piece: one for one in arrangement}
    for drawing in drawings:
        one = laid[drawing.piece_id]
        if one not in kept:
            kept[one] = Placed(drawing, one.motion)
    return tuple(kept[laid[drawing.piece_id]] for drawing in drawings)


def slid(one: LaidPiece, dx: float, dy: float) -> LaidPiece:
    """A piece moved by (dx, dy) mm."""
    return replace(one, at=(round(one.at[0] + dx, AT_PLACES) + 0.0, round(one.at[1] + dy, AT_PLACES) + 0.0))


def turned(one: LaidPiece, drawing: Drawing, degrees: float) -> LaidPiece:
    """A piece turned anticlockwise by so much; the middle of its box stays where it is."""
    now = replace(one, turned_deg=_kept(one.turned_deg + degrees))
    (x0, y0, x1, y1), (u0, v0, u1, v1) = (drawing.moved(way.motion).bounds() for way in (one, now))
    return slid(now, (x0 + x1 - u0 - u1) / 2, (y0 + y1 - v0 - v1) / 2)


def _kept(degrees: float) -> float:
    """A turn from 0 up to 360, to TURN_PLACES."""
    return round(round(degrees, TURN_PLACES) % 360.0, TURN_PLACES) % 360.0


class Shapes:
    """The shapes of drawings, kept, for asking again and again whether pieces lie over each other."""

    def __init__(self, drawings: Sequence[Drawing]) -> None:
        self._shapes = {drawing.piece_id: shape_of(drawing) for drawing in drawings}

    def of(self, piece: str) -> shapely.Geometry:
        """All that is drawn of a piece, its outline filled, in its own frame."""
        return self._shapes[piece]

    def overlapping(self, sheet: Sheet) -> tuple[tuple[str, str], ...]:
        """Ids of pieces that lie over each other, in pairs: anything drawn of one meets what is inside the other."""
        there = [shapely.transform(self._shapes[one.piece_id], one.motion.points) for one in sheet.placed]
        return tuple(
            (sheet.placed[i].piece_id, sheet.placed[j].piece_id)
            for i, j in itertools.combinations(range(len(there)), 2)
            if shapely.intersects(there[i], there[j])
        )


def overlap_words(sheet: Sheet, pairs: Sequence[tuple[str, str]]) -> str:
    """Which pieces lie over each other, and what to do, in one sentence."""
    names = {one.piece_id: one.drawing.name for one in sheet.placed}
    said = ", ".join(f"“{names[a]}” over “{names[b]}”" for a, b in pairs[:3])
    more = f" and {len(pairs) - 3} more" if len(pairs) > 3 else ""
    return f"Pieces lie over each other: {said}{more}; move them apart or lay the pieces out again."


def refuse_overlapping(sheet: Sheet) -> None:
    """Raises PatternError, in one sentence, where pieces lie over each other."""
    pairs = Shapes([one.drawing for one in sheet.placed]).overlapping(sheet)
    if pairs:
        raise PatternError(overlap_words(sheet, pairs), pairs[0][0])


def to_snap(box: Box, sheet: Sheet, settings: SheetSettings, reach: float) -> Point:
    """How far (dx, dy) mm a piece with this box is from lying just within a join across and down; 0 beyond ``reach``.

    INSET_MM is left between the piece and the join, or the edge of the sheet.
    """
    half, found = settings.overlap_mm / 2, []
    for axis, size in enumerate((sheet.width, sheet.height)):
        step, low, high = settings.step[axis], box[axis] - INSET_MM, box[axis + 2] + INSET_MM
        ways = [-low, size - high]
        ways += [round((end - half) / step) * step + half - end for end in (low, high)]
        nearest = min(ways, key=abs)
        found.append(nearest if abs(nearest) <= reach else 0.0)
    return found[0], found[1]

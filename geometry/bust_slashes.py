"""The three slashes of a bust change: where they run on a half front, and where its parts go.

With the bust point A, the hinge H on the armhole, a = Hx - Ax across and b = Hy - Ay up, the side turns about H by t
where a (1 - cos t) + b sin t is the spread; the bust point drops by a sin t - b (1 - cos t). A small bust is the same
with the spread below nothing, so it undoes a full bust.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.cutting_lines import hem_side_normal, square_direction
from geometry.darts import way_out, wedge
from geometry.errors import PatternError
from geometry.motions import Motion, Point, bearing, slide, turn
from geometry.pieces import LEVELS, Edge, LineKind, Piece
from geometry.readings import mm_words
from geometry.regions import FAR_MM, Patch, Region, beside_slash

_LEVEL = LEVELS | {LineKind.LENGTHEN}
#: A level line nearer below the bust point than this leaves no room for a slash above it (mm).
_CLEAR_MM = 20.0


@dataclass(frozen=True)
class Frame:
    """A half piece as it hangs: ``out`` from the centre towards the side and ``up`` from the hem, unit directions."""

    out: Point
    up: Point

    def across(self, point: Point) -> float:
        return point[0] * self.out[0] + point[1] * self.out[1]

    def height(self, point: Point) -> float:
        return point[0] * self.up[0] + point[1] * self.up[1]

    def at(self, across: float, height: float) -> Point:
        return (
            across * self.out[0] + height * self.up[0],
            across * self.out[1] + height * self.up[1],
        )

    @property
    def sense(self) -> float:
        """1 where turning from ``out`` to ``up`` is anticlockwise, -1 on the mirrored half."""
        return math.copysign(1.0, self.out[0] * self.up[1] - self.out[1] * self.up[0])


@dataclass(frozen=True, eq=False)
class Where:
    """Where the slashes run: the bust point, the hinge on the armhole and the place on the side seam, in mm.

    ``in_mouth`` says that the place at the side lies in the mouth of a dart.
    """

    centre: Edge
    underarm: Point
    hinge: Point
    apex: Point
    side: Point
    in_mouth: bool


@dataclass(frozen=True, eq=False)
class Slashes:
    """The slashes on one front as it lies; see ``slashes``.

    ``full`` is the bust point on the fuller front, ``small`` on the smaller one; ``level`` is the height of the slash
    from the centre on the smaller one; ``spread`` and ``drop`` (mm) are how far the full lies beyond the small, and
    ``turned`` (radians) is how far the side is turned between them.
    """

    where: Where
    frame: Frame
    full: Point
    small: Point
    spread: float
    drop: float
    turned: float
    level: float

    @property
    def opens(self) -> bool:
        """True for a full bust."""
        return self.where.apex is self.small

    @property
    def cross(self) -> float:
        """The height of the slash from the centre on the front as it lies."""
        return self.level if self.opens else self.level - self.drop

    @property
    def upper_motion(self) -> Motion:
        """Where the side above the dart goes."""
        degrees = math.degrees(self.turned) * self.frame.sense
        return turn(degrees if self.opens else -degrees, self.where.hinge)

    @property
    def lower_motion(self) -> Motion:
        """Where the side below the dart goes, and the bust point with it."""
        return self.shift(1.0, 1.0)

    def shift(self, spread: float, drop: float) -> Motion:
        """A slide by shares of the spread and the drop, the way this change goes."""
        sign = 1.0 if self.opens else -1.0
        return slide(*self.frame.at(sign * spread * self.spread, -sign * drop * self.drop))

    @property
    def gap(self) -> Patch:
        """The paper put in on the fuller front: along the long slash, and across to the centre."""
        frame, x0, x1 = self.frame, self.frame.across(self.small), self.frame.across(self.full)
        low = self.level - self.drop
        return Patch(
            (
                self.where.hinge,
                self.small,
                frame.at(x0, self.level),
                frame.at(x0 - FAR_MM, self.level),
                frame.at(x0 - FAR_MM, low),
                frame.at(x0, low),
                frame.at(x0, low - FAR_MM),
                frame.at(x1, low - FAR_MM),
                self.full,
            )
        )

    def regions(self, piece: Piece) -> list[Region]:
        """The parts of the front with their motions, what is lapped over taken out."""
        frame, where = self.frame, self.where
        x, inner, z = frame.across(where.apex), frame.across(self.small), self.cross
        down, inwards = (-frame.up[0], -frame.up[1]), (-frame.out[0], -frame.out[1])
        to_side = way_out(piece, where.side, bearing(where.apex, where.side))
        to_arm = way_out(piece, where.hinge, bearing(where.apex, where.hinge))
        upper = beside_slash((where.hinge, where.apex, where.side), (to_arm, to_side), where.underarm)
        long_slash = (where.side, where.apex, frame.at(x, z - 1.0))
        lower = beside_slash(long_slash, (to_side, down), frame.at(x + 1e-2, z - 1.0))
        foot = (frame.at(inner - 1.0, z), frame.at(inner, z), frame.at(inner, z - 1.0))
        centre = beside_slash(foot, (inwards, down), frame.at(inner - 1.0, z - 1.0))
        parts = [
            Region(upper, self.upper_motion),
            Region(lower, self.lower_motion),
            Region(centre, self.shift(0.0, 1.0)),
        ]
        if self.opens:
            return parts
        return [*([] if where.in_mouth else [Region(self._lapped(), None)]), Region(self.gap, None), *parts]

    def _lapped(self) -> Patch:
        """The wedge that is lapped at the side of a front without a dart."""
        upper = bearing(self.where.apex, self.where.side)
        return wedge(self.where.apex, upper, upper - math.degrees(self.turned) * self.frame.sense)


def slashes(piece: Piece, where: Where, spread: float) -> Slashes:
    """The slashes of a full bust of ``spread`` mm on a half front, or of a small bust where it is below nothing.

    Raises PatternError where the hinge does not lie above the bust point and on its side, and where the slashes do
    not reach so far.
    """
    up = hem_side_normal(piece, where.underarm, square_direction(piece))
    out = (up[1], -up[0])
    centre = where.centre.start
    if (where.underarm[0] - centre[0]) * out[0] + (where.underarm[1] - centre[1]) * out[1] < 0:
        out = (-out[0], -out[1])
    frame = Frame(out, up)
    apex, hinge = where.apex, where.hinge
    a, b = frame.across(hinge) - frame.across(apex), frame.height(hinge) - frame.height(apex)
    if a <= 0 or b <= 0:
        raise PatternError(
            f"The hinge on the armhole of “{piece.name}” must lie above the bust point and on its side.",
            piece.id,
            point=hinge,
        )
    turned = _turn_for(spread, a, b)
    drop = a * math.sin(turned) - b * (1 - math.cos(turned)) if turned is not None else 0.0
    if turned is None or drop * spread <= 0:
        raise PatternError(
            f"{mm_words(abs(spread))} at the bust point is more than the slashes of “{piece.name}” can give.",
            piece.id,
            point=apex,
        )
    other = frame.at(frame.across(apex) + spread, frame.height(apex) - drop)
    small, full = (apex, other) if spread > 0 else (other, apex)
    level = _cross_level(piece, where.centre, frame, frame.height(small), max(-drop, 0.0))
    return Slashes(where, frame, full, small, abs(spread), abs(drop), abs(turned), level)


def _cross_level(piece: Piece, centre: Edge, frame: Frame, bust: float, lower: float) -> float:
    """The height of the slash from the centre on the smaller front, above the level lines that must stay level.

    ``bust`` is the height of the bust point there; what lies below the slash is ``lower`` mm lower on this piece.
    """
    ends = [frame.height(centre.start), frame.height(centre.end)]
    inner = [min((line.chain.start, line.chain.end), key=frame.across) for line in piece.lines if line.kind in _LEVEL]
    levels = [frame.height(point) + lower for point in inner]
    below = [min(ends) + lower, *(level for level in levels if level < bust - _CLEAR_MM)]
    return (min(bust, max(ends)) + max(below)) / 2


def _turn_for(spread: float, a: float, b: float) -> float | None:
    """The turn t in radians with a (1 - cos t) + b sin t = spread, None where the slashes do not reach so far."""
    reach, lean = math.hypot(a, b), math.atan2(a, b)
    if abs(spread - a) >= reach:
        return None
    return lean + math.asin((spread - a) / reach)

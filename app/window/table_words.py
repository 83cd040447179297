"""Which words stand beside the pieces on the table, and what they must keep clear of. All in pixels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from PySide6.QtCore import QRectF
from PySide6.QtGui import QFont

from app.handles import Handle
from app.scene import Doubt, Scene, ShownStrip
from app.window.callouts import Wanted
from app.window.change_painting import HANDLE_PX, Grip, callout_size
from app.window.laying_out import Laid
from app.window.sheet_painting import Sheet
from app.window.view import Box, View
from geometry.motions import FloatArray, Motion, Point
from geometry.pieces import Edge
from geometry.units import System, tape_words

#: Marks nearer than this are one mark (pixels), and what its tool tip says at most.
TOGETHER_PX = 26.0
MOST_SENTENCES = 3
#: Words longer than this stand in two lines.
LONG_WORDS = 24


def handle_words(handle: Handle, value: float, units: System, added: bool) -> str:
    """What a handle's number says: “takes out 2.5 cm”, “height above the underarm: 6 cm”."""
    said = f"{round(100 * value)} %" if handle.unit == "share" else tape_words(value, units)
    if handle.called:
        return in_two_lines(handle.called.format(said))
    if handle.main:
        return f"{'adds' if added else 'takes out'} {said}"
    return in_two_lines(f"{handle.label}: {said}")


def in_two_lines(words: str) -> str:
    """Long words broken at the space or comma nearest their middle."""
    if len(words) <= LONG_WORDS:
        return words
    breaks = [index for index, sign in enumerate(words) if sign == " " and words[index - 1] != ":"]
    if not breaks:
        return words
    at = min(breaks, key=lambda index: abs(index - len(words) / 2))
    return f"{words[:at]}\n{words[at + 1 :]}"


def strip_words(strip: ShownStrip, units: System) -> str:
    words = "adds" if strip.added else "takes out"
    return words if strip.amount is None else f"{words} {tape_words(strip.amount, units)}"


def words_wanted(
    scene: Scene,
    laid: Laid,
    view: View,
    grips: Sequence[Grip],
    units: System,
    opened: bool,
    font: QFont,
    bounds: Box,
) -> list[Wanted]:
    """The words of handles first, then of strips without handles, then the changed lengths.

    An edge is called out where it is seen within ``bounds`` (pixels), and not at all where none of it is.
    """
    added = any(strip.added for strip in scene.strips)
    wanted = [
        _at_grip(grip, handle_words(grip.handle, grip.handle.value, units, added), font)
        for grip in grips
        if scene.strips or not grip.handle.main
    ]
    if not grips:
        wanted += [_at_strip(strip, index, laid, view, units, font) for index, strip in enumerate(scene.strips)]
    fold = scene.after.piece.fold
    for changed in scene.changed:
        if opened and fold is not None and changed.edge == fold.id:
            continue
        words = changed.words(units, opened)
        place = _seen(scene.after.piece.edge(changed.edge), laid.after, view, bounds)
        if place is not None:
            wanted.append(Wanted(changed.edge, words, *place, callout_size(words, font)))
    return [one for one in wanted if _within(one.at, bounds)]


def _seen(edge: Edge, motion: Motion, view: View, bounds: Box) -> tuple[Point, Point] | None:
    """The place of an edge nearest its middle that is seen, and the direction away from the paper there (pixels)."""
    chain = edge.chain
    for share in sorted(np.linspace(0.02, 0.98, 49).tolist(), key=lambda share: abs(share - 0.5)):
        u = chain.at_length(share * chain.length)
        at = view.px(motion.point(chain.point(u)))
        if _within(at, bounds):
            tx, ty = motion.vector(chain.tangent(u))
            return at, (ty, tx)
    return None


def _within(at: Point, bounds: Box) -> bool:
    return bounds[0] <= at[0] <= bounds[2] and bounds[1] <= at[1] <= bounds[3]


def _at_grip(grip: Grip, words: str, font: QFont) -> Wanted:
    (ax, ay), (bx, by) = grip.line[1], grip.centre
    size = max(math.dist(grip.line[1], grip.centre), 1e-9)
    away = ((bx - ax) / size, (by - ay) / size)
    key = f"{grip.handle.note}.{grip.handle.field}"
    return Wanted(key, words, grip.centre, away, callout_size(words, font), "change", HANDLE_PX + 3.0)


def _at_strip(strip: ShownStrip, index: int, laid: Laid, view: View, units: System, font: QFont) -> Wanted:
    points = laid.before.points(strip.outline)
    right = points[points[:, 0] > points[:, 0].max() - 1.0].mean(axis=0)
    words = strip_words(strip, units)
    at = view.px((float(right[0]), float(right[1])))
    return Wanted(f"{strip.note}.{index}", words, at, (1.0, 0.0), callout_size(words, font), "change")


def kept_clear(
    sheets: Sequence[Sheet],
    ghost: FloatArray,
    over: bool,
    view: View,
    grips: Sequence[Grip],
    plates: Sequence[QRectF],
) -> tuple[list[shapely.Geometry], list[shapely.Geometry]]:
    """What no words may lie on, and what no leader may cross; laid ``over``, the piece below may be crossed.

    ``ghost`` (m, 2) is an outline in mm on the table, which may be empty.
    """
    words: list[shapely.Geometry] = [shapely.box(p.left(), p.top(), p.right(), p.bottom()) for p in plates]
    leaders: list[shapely.Geometry] = list(words)
    for sheet in sheets:
        words += [shapely.Polygon(points) for points in _outlines(sheet, view, cut=True)]
    for sheet in sheets[-1:] if over else sheets:
        leaders += [shapely.Polygon(points).buffer(-1.0) for points in _outlines(sheet, view, cut=False)]
    if len(ghost):
        words.append(shapely.LinearRing(_pixels(ghost, view)))
    for grip in grips:
        circle = shapely.Point(grip.centre).buffer(HANDLE_PX + 2.0)
        words += [circle, shapely.LineString([grip.line[1], grip.centre])]
        leaders.append(circle)
    return words, leaders


def titles(scene: Scene, boxes: Sequence[Box], strip: QRectF, font: QFont, *, beside: bool) -> list[tuple[QRectF, str]]:
    """The two titles in a strip along the top of the table over their pieces, or under the strip where it is short.

    ``boxes`` are left, top, right, bottom of the pieces in pixels; ``beside`` puts each title left of its piece.
    """
    found = []
    left = strip.left()
    for box, words in zip(boxes, (scene.before_title, scene.after_title), strict=True):
        width, height = callout_size(words, font)
        x = max(box[0] - width - 8.0 if beside else (box[0] + box[2] - width) / 2, left)
        found.append((QRectF(x, strip.center().y() - height / 2, width, height), words))
        left = x + width + 8.0
    if left - 8.0 > strip.right():
        found = [(box.translated(0.0, strip.bottom() + 2.0 - box.top()), words) for box, words in found]
    return found


@dataclass(frozen=True)
class Mark:
    """A sign on the table (pixels) with its sentences; one of them is ``wrong``, or all are to be noticed only."""

    at: Point
    says: str
    wrong: bool


def gathered(places: Sequence[Point], doubts: Sequence[Doubt]) -> list[Mark]:
    """Doubts at their places (pixels), those that stand close together gathered into the first of them."""
    groups: list[tuple[Point, list[Doubt]]] = []
    for place, doubt in zip(places, doubts, strict=True):
        near = next((group for group in groups if math.dist(group[0], place) < TOGETHER_PX), None)
        if near is None:
            groups.append((place, [doubt]))
        else:
            near[1].append(doubt)
    return [Mark(place, _sentences(found), any(doubt.wrong for doubt in found)) for place, found in groups]


def _sentences(doubts: Sequence[Doubt]) -> str:
    """What is wrong first, each sentence once."""
    words = list(dict.fromkeys(doubt.says for doubt in sorted(doubts, key=lambda doubt: not doubt.wrong)))
    more = len(words) - MOST_SENTENCES
    return "\n".join(words[:MOST_SENTENCES]) + (f"\nand {more} more like these here" if more > 0 else "")


def _outlines(sheet: Sheet, view: View, *, cut: bool) -> Iterator[FloatArray]:
    """The paper's edge or the stitching line (m, 2) in pixels under each motion."""
    points = sheet.drawing.points(view.scale, cut=cut)
    for motion in sheet.motions:
        yield _pixels(motion.points(points), view)


def _pixels(points: FloatArray, view: View) -> FloatArray:
    return np.stack([view.x + view.scale * points[:, 0], view.y - view.scale * points[:, 1]], axis=1)

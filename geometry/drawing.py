"""What to draw of a piece, by role, as calls on one small protocol; a recorder keeps the calls.

``draw_piece`` passes the curves on as they are; whoever cannot draw a curve flattens it. A recorded drawing stays
in the piece's own frame; ``Placed`` lays it on a sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from geometry.lettering import NO_CUTTING_LINE, Lettering, letter
from geometry.lines import Chain, polyline
from geometry.motions import STAY, Motion, Point
from geometry.named_lines import Lettered
from geometry.pens import LOOKS, Look, Pen, Role, Stroke, Words, draw_stroke, draw_words
from geometry.pieces import Piece
from geometry.stages import CutPiece, Strip
from geometry.strokes import hatching, notch_strokes, outline_of, piece_strokes
from geometry.underlay import shading, size_names, size_strokes

__all__ = [
    "LOOKS",
    "Box",
    "Drawing",
    "Look",
    "Pen",
    "Placed",
    "Recorder",
    "Role",
    "Stroke",
    "Style",
    "Words",
    "draw_before",
    "draw_piece",
    "draw_strip",
    "notch_strokes",
    "record",
]

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Style:
    """What of a piece is drawn beside its cutting line."""

    stitching: bool = True
    lettering: Lettering | None = field(default_factory=Lettering)


def draw_piece(
    pen: Pen,
    cut: CutPiece,
    *,
    style: Style = Style(),
    before: Piece | None = None,
    strips: Sequence[Strip] = (),
    shaded: CutPiece | None = None,
    sizes: Sequence[tuple[str, CutPiece]] = (),
) -> None:
    """Draw a piece with its allowances on a pen; arguments as for ``record``."""
    record(cut, style=style, before=before, strips=strips, shaded=shaded, sizes=sizes).draw(pen)


def before_stroke(piece: Piece) -> Stroke:
    """The outline of a piece as traced, for laying under the piece redrawn."""
    return Stroke(Role.BEFORE, outline_of(piece), True, f"{piece.name}, as traced")


def draw_before(pen: Pen, piece: Piece) -> None:
    """Draw the outline of a piece as traced; call it between begin and end."""
    draw_stroke(pen, before_stroke(piece))


def draw_strip(pen: Pen, strip: Strip) -> None:
    """What a note takes out (hatched rising to the right) or adds (rising to the left), with its outline."""
    for stroke in _strip_strokes(strip):
        draw_stroke(pen, stroke)


def _strip_strokes(strip: Strip) -> Iterator[Stroke]:
    if len(strip.outline) < 3:
        return
    name = "added" if strip.added else "taken out"
    yield Stroke(Role.STRIP, polyline(np.concatenate([strip.outline, strip.outline[:1]])), True, name)
    for ray in hatching(strip.outline, angle_deg=135.0 if strip.added else 45.0):
        yield Stroke(Role.STRIP, polyline(ray), name=name)


@dataclass(frozen=True, eq=False)
class Drawing:
    """Everything drawn of one piece, in its own frame (mm, y up), in the order it was drawn.

    ``unsaid`` are words that have no room on the piece, to be said elsewhere.
    """

    piece_id: str
    name: str
    strokes: tuple[Stroke, ...]
    words: tuple[Words, ...]
    unsaid: tuple[str, ...] = ()

    def moved(self, motion: Motion) -> Drawing:
        """The drawing under a motion; lettering stays readable in a mirror image."""
        if motion.stays:
            return self
        strokes = tuple(stroke.moved(motion) for stroke in self.strokes)
        return replace(self, strokes=strokes, words=tuple(words.moved(motion) for words in self.words))

    def bounds(self) -> Box:
        """(x0, y0, x1, y1) mm that holds every line and word; raises ValueError when nothing was drawn."""
        return self._bounds

    def draw(self, pen: Pen) -> None:
        """Make the recorded calls again on another pen."""
        pen.begin(self.piece_id, self.name)
        for stroke in self.strokes:
            draw_stroke(pen, stroke)
        for words in self.words:
            draw_words(pen, words)
        pen.end()

    @cached_property
    def _bounds(self) -> Box:
        points = [_extremes(stroke.chain) for stroke in self.strokes] + [words.box() for words in self.words]
        everything = np.concatenate(points)
        (x0, y0), (x1, y1) = everything.min(axis=0), everything.max(axis=0)
        return (float(x0), float(y0), float(x1), float(y1))


@dataclass(frozen=True, eq=False)
class Placed:
    """A drawing laid on a sheet by a motion."""

    drawing: Drawing
    motion: Motion = STAY

    @property
    def piece_id(self) -> str:
        return self.drawing.piece_id

    @cached_property
    def there(self) -> Drawing:
        """The drawing in the sheet's frame."""
        return self.drawing.moved(self.motion)


class Recorder:
    """A pen that keeps every call; ``drawings`` gives them back, one frozen drawing a piece."""

    def __init__(self) -> None:
        self._done: list[Drawing] = []
        self._piece = ("", "")
        self._strokes: list[Stroke] = []
        self._words: list[Words] = []

    @property
    def drawings(self) -> tuple[Drawing, ...]:
        return tuple(self._done)

    def begin(self, piece_id: str, name: str) -> None:
        self._piece, self._strokes, self._words = (piece_id, name), [], []

    def end(self) -> None:
        self._done.append(Drawing(*self._piece, tuple(self._strokes), tuple(self._words)))

    def line(self, role: Role, chain: Chain, name: str = "") -> None:
        self._strokes.append(Stroke(role, chain, False, name))

    def closed(self, role: Role, chain: Chain, name: str = "") -> None:
        self._strokes.append(Stroke(role, chain, True, name))

    def text(
        self, role: Role, at: Point, words: str, height_mm: float, angle_deg: float = 0.0, anchor: str = "middle"
    ) -> None:
        self._words.append(Words(role, at, words, height_mm, angle_deg, anchor))


def record(
    cut: CutPiece,
    *,
    style: Style = Style(),
    before: Piece | None = None,
    strips: Sequence[Strip] = (),
    shaded: CutPiece | None = None,
    sizes: Sequence[tuple[str, CutPiece]] = (),
) -> Drawing:
    """The drawing of a piece with its allowances; ``before`` lays the piece as traced under it, ``strips`` are hatched.

    ``shaded`` is the piece as traced where what was altered is to be grey; ``sizes`` are the piece in other sizes, by
    their names.
    """
    piece, outline = cut.piece, outline_of(cut.piece)
    under = [*size_strokes(sizes), *([before_stroke(before)] if before is not None else [])]
    strokes = list(piece_strokes(cut, outline, stitching=style.stitching))
    lettering, said, names = style.lettering, Lettered(), list[Words]()
    if lettering is not None and cut.cutting is None:
        lettering = replace(lettering, more=(NO_CUTTING_LINE, *lettering.more))
    if lettering is not None:
        # The fold's bracket goes where the half is opened out.
        there = [stroke for stroke in strokes if not (lettering.opened and stroke.role is Role.FOLD)]
        said = letter(piece, outline, [*there, *under], cut.widths, lettering)
        others = [stroke.chain for stroke in (*strokes, *said.leads, *under[len(sizes) :])]
        names = list(size_names(under[: len(sizes)], [*others, *lettering.joins], said.words))
    grey = shading(shaded, cut) if shaded is not None else ()
    hatched = (stroke for strip in strips for stroke in _strip_strokes(strip))
    drawn, words = (*grey, *under, *hatched, *strokes, *said.leads), (*said.words, *names)
    return Drawing(piece.id, piece.name, drawn, words, tuple(said.unsaid))


def _extremes(chain: Chain) -> np.ndarray:
    """Points (m, 2) that hold a chain's box, within 0.01 mm of the curve."""
    if chain.straight.all():
        return np.concatenate([chain.cubics[:, 0], chain.cubics[-1:, 3]])
    return chain.flat[0]

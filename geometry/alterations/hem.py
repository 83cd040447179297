"""Hem raised or lowered.

When: a straight piece is too long or too short at its foot, or the hem is to be a curve, a shirt tail or a dip at the
back.

By hand: measure up or down from the old hem at the centre and at the side, draw the new hem through the marks,
square to the fold or centre, and rule the seams on to it. The same at both marks moves the hem parallel; different
amounts curve it: a shirt tail levels off at the side and so runs on over the seam, the hem of a flared piece curves
all the way up to meet its leaning side squarely, a dipping back hem is high at the side and low at the centre.

Source: straight pieces may change at the hem, shaped ones at the line or their flare is lost: Robinson, ch. 17,
Central Washington University. The shape of the curve: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from geometry.alterations.base import Alteration, Done, Example, PieceDone, choice, mm, piece_by_piece
from geometry.alterations.shorten_or_lengthen import AWAY, LENGTHEN, SHORTEN, ShortenOrLengthen
from geometry.cutting_lines import hem_side_normal, largest_part, paper_lost, square_direction
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.hand_ways import drawn_anew
from geometry.lines import straight
from geometry.motions import Point
from geometry.notes import Target
from geometry.pieces import Edge, EdgeKind, Line, LineKind, Piece, neighbours
from geometry.readings import mm_words
from geometry.shifting import Shift, edge_shifted, shift_through
from geometry.stages import Offer, Strip
from geometry.tolerances import SIMPLE_MM

RAISE, LOWER, HIGH_AND_LOW = "raise", "lower", "high at the side, low at the centre"
LEVEL_OFF, RUN_UP = "levelling off at the side", "curving all the way to the side"
_CENTRES = (EdgeKind.CENTRE_FRONT, EdgeKind.CENTRE_BACK)
_HEMS = (EdgeKind.HEM, EdgeKind.WRIST)
#: A hem that comes out narrower or wider by more than this has lost or won flare (mm).
_FLARE_MM = 1.0
#: Less than this of a line is no line any more (mm).
_LEFT_MM = 1.0


@dataclass(frozen=True)
class Hem:
    way: str = choice("raise or lower", RAISE, LOWER, HIGH_AND_LOW)
    centre: float = mm("at the centre", 20.0, 0.0, 400.0, basis="along the grain, at the fold or centre")
    side: float = mm("at the side", 20.0, 0.0, 400.0, basis="along the grain, at the side seam")
    shape: str = choice("shape between", LEVEL_OFF, RUN_UP)


def do(garment: Garment, amounts: Hem, targets: tuple[Target, ...], note: str) -> Done:
    if amounts.centre == amounts.side == 0:
        return Done(garment)

    def one(piece: Piece, target: Target) -> PieceDone:
        return _changed(piece, amounts, target, note)

    done = piece_by_piece(garment, targets, one)
    return replace(done, offers=(*_at_the_line(garment, amounts, targets), *_joined(garment, amounts, targets)))


def hem_of(piece: Piece, target: Target) -> Edge:
    """The hem of a piece, or the edge that the target names; raises PatternError when there is none, or several."""
    if target.edge is not None:
        return piece.edge(target.edge)
    hems = [edge for edge in piece.edges if edge.kind in _HEMS]
    if len(hems) != 1:
        words = "has no hem; choose another piece" if not hems else "has several hems; name the edge"
        raise PatternError(f"“{piece.name}” {words}.", piece.id)
    return hems[0]


def _changed(piece: Piece, amounts: Hem, target: Target, note: str) -> PieceDone:
    hem = hem_of(piece, target)
    shift = hem_shift(piece, hem, amounts)
    new = edge_shifted(piece, hem.id, shift)
    out, gone = paper_lost(new, piece), paper_lost(piece, new)
    new = replace(new, lines=tuple(cut_off(line, gone) for line in new.lines))
    added = bool(shapely.area(out) > shapely.area(gone))
    strip = Strip(piece.id, largest_part(out if added else gone), added)
    return PieceDone(new, cut_away(new, gone, note), (strip,), _readings(piece, hem, new, amounts))


def cut_away(piece: Piece, gone: shapely.Geometry, note: str) -> tuple[Finding, ...]:
    """A finding for every line and mark that stands on the paper cut off."""

    near = shapely.buffer(gone, SIMPLE_MM)

    def holds(points: Sequence[Point]) -> bool:
        return bool(shapely.covers(near, shapely.MultiPoint(points)))

    lines = [line for line in piece.lines if holds([line.chain.start, line.chain.end])]
    marks = [mark for mark in piece.marks if holds([mark.point])]
    return (
        *(_outside("line-in-strip", line.name, piece, note, line.chain.start) for line in lines),
        *(_outside("mark-in-strip", mark.name, piece, note, mark.point) for mark in marks),
    )


def _outside(code: str, name: str, piece: Piece, note: str, place: Point) -> Finding:
    says = f"The {name} of “{piece.name}” lies in the paper cut off; it stays where it was."
    return Finding(code, Level.WARN, says, piece.id, note, place)


def hem_shift(piece: Piece, hem: Edge, amounts: Hem) -> Shift:
    """How the hem goes along the grain: smooth between centre and side, level at both."""
    across = square_direction(piece)
    middle = piece.polygon.centroid
    up = hem_side_normal(piece, (middle.x, middle.y), across)
    sign = {RAISE: (1.0, 1.0), LOWER: (-1.0, -1.0), HIGH_AND_LOW: (-1.0, 1.0)}[amounts.way]
    centre, side = sign[0] * amounts.centre, sign[1] * amounts.side
    ends = [(point, beside) for point, beside in zip((hem.start, hem.end), neighbours(piece, hem.id), strict=True)]
    places = [up[0] * point[1] - up[1] * point[0] for point, _ in ends]
    at_centre = [beside.on_fold or beside.kind in _CENTRES for _, beside in ends]
    stations = {place: centre if mid else side for place, mid in zip(places, at_centre, strict=True)}
    if not any(at_centre):
        stations[sum(places) / 2] = centre
    steep = [place for place in places if stations[place] == side] if amounts.shape == RUN_UP else []
    return shift_through(up, stations, steep)


def cut_off(line: Line, gone: shapely.Geometry) -> Line:
    """A straight line without what would stand on the paper cut off; as it was where nothing else is left of it."""
    drawn = shapely.LineString([line.chain.start, line.chain.end])
    if not line.chain.is_straight or shapely.is_empty(gone):
        return line
    kept = drawn.difference(gone)
    parts = [part for part in shapely.get_parts(kept) if part.geom_type == "LineString" and part.length > _LEFT_MM]
    longest = max(parts, key=lambda part: float(part.length), default=None)
    if longest is None or drawn.length - longest.length < 0.5:
        return line
    ends: list[Point] = [(float(x), float(y)) for x, y in longest.coords]
    if drawn.project(shapely.Point(ends[0])) > drawn.project(shapely.Point(ends[-1])):
        ends.reverse()
    return replace(line, chain=straight(ends[0], ends[-1]))


def _readings(piece: Piece, hem: Edge, new: Piece, amounts: Hem) -> tuple[str, ...]:
    words = {RAISE: ("up", "up"), LOWER: ("down", "down"), HIGH_AND_LOW: ("down", "up")}[amounts.way]
    given = [
        f"{mm_words(value)} {way} at the {where}"
        for value, way, where in ((amounts.centre, words[0], "centre"), (amounts.side, words[1], "side"))
        if value
    ]
    readings = [f"the hem goes {', '.join(given)}"]
    wider = (new.edge(hem.id).length - hem.length) * piece.cut_count
    if abs(wider) > _FLARE_MM and amounts.centre == amounts.side:
        words_wide = "wider" if wider > 0 else "narrower"
        readings.append(f"the hem of “{piece.name}” comes out {mm_words(abs(wider))} {words_wide} in all")
    return tuple(readings)


def _at_the_line(garment: Garment, amounts: Hem, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """For a shaped piece, the same length at the line, so that its flare is kept (instead of this note)."""
    if amounts.way == HIGH_AND_LOW or amounts.centre != amounts.side:
        return ()
    shaped = []
    for target in targets:
        piece = garment.piece(target.piece)
        hem = hem_of(piece, target)
        new = edge_shifted(piece, hem.id, hem_shift(piece, hem, amounts))
        if abs(new.edge(hem.id).length - hem.length) > _FLARE_MM and piece.line(LineKind.LENGTHEN) is not None:
            shaped.append(Target(piece.id))
    if not shaped:
        return ()
    way = SHORTEN if amounts.way == RAISE else LENGTHEN
    same = ShortenOrLengthen(way, min(amounts.centre, 300.0), LineKind.LENGTHEN, AWAY)
    says = f"Instead, {way} by {mm_words(same.amount)} at the {LineKind.LENGTHEN}, which keeps the flare"
    return (Offer(says, "shorten_or_lengthen", same, tuple(shaped)),)


def _joined(garment: Garment, amounts: Hem, targets: tuple[Target, ...]) -> tuple[Offer, ...]:
    """The same offered for every piece whose hem meets one of these over a seam, or that faces one of them."""
    done = {target.piece for target in targets}
    over: dict[str, None] = {}
    facing: dict[str, None] = {}
    for target in targets:
        piece = garment.piece(target.piece)
        for beside in neighbours(piece, hem_of(piece, target).id):
            for seam in garment.seams_of(piece.id, beside.id):
                over |= dict.fromkeys(ref.piece for ref in (*seam.first, *seam.second))
            copies = [p.id for p in garment.pieces for c in p.copies if (c.piece, c.of_edge) == (piece.id, beside.id)]
            facing |= dict.fromkeys(copies)
    even = amounts if amounts.way != HIGH_AND_LOW else replace(amounts, way=RAISE, centre=0.0)
    by_centre = replace(amounts, way=LOWER if amounts.way == HIGH_AND_LOW else amounts.way, side=amounts.centre)
    offers = []
    for pieces, same in ((over, even), (facing, by_centre)):
        left = [p for p in pieces if p not in done and len([e for e in garment.piece(p).edges if e.kind in _HEMS]) == 1]
        done |= set(left)
        if left and (same.centre or same.side):
            names = " and ".join(f"“{garment.piece(piece).name}”" for piece in left)
            offers.append(Offer(f"Do the same to the hem of {names}", "hem", same, tuple(map(Target, left))))
    return tuple(offers)


ALTERATION = Alteration(
    name="hem",
    title="Hem raised or lowered",
    region="length",
    order=12,
    sentence="Hem of {pieces}: {way}, {centre} at the centre and {side} at the side, {shape}",
    amounts=Hem,
    do=do,
    steps=drawn_anew,
    examples=(
        Example(
            "a panel whose side leans 10 degrees off the grain, its hem raised by 25.4 mm",
            "the side 25.792 mm shorter, the hem 4.479 mm narrower: the flare that shortening at the line would keep",
            "25.4 / cos 10 degrees and 25.4 tan 10 degrees, worked by hand",
        ),
        Example("a hem raised by 30 mm at the side alone", "level at the fold, 30 mm up at the side", "subtraction"),
    ),
    describes=__doc__,
)

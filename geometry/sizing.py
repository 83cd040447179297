"""Picking a size from a body: which size at which level, and the ease that each size gives there.

A body is sized by its high bust where the full bust is 2 in or more above it (Texas AgriLife Extension E-372): the
high bust is then looked up as the table's bust. Ease is the garment's girth less the body's; in a knit it may be
negative. Between two sizes the nearer counts; midway the smaller in a knit, which gives, and the larger in a woven
cloth, which does not (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import shapely

from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.motions import Point
from geometry.nests import in_size, size_names
from geometry.pieces import Line, LineKind, Piece, RunKind
from geometry.readings import mm_words
from geometry.size_tables import LEVELS_OF_BODY, Girths

BUST, WAIST, HIP = LEVELS_OF_BODY
HIGH_BUST = "high bust"
_LINES: Mapping[str, LineKind] = {BUST: LineKind.BUST, WAIST: LineKind.WAIST, HIP: LineKind.HIP}
#: The full bust is this far above the high bust where the high bust counts (2 in, Texas AgriLife Extension E-372).
FULL_ABOVE_HIGH_MM = 50.8
#: Lengths are said to a tenth of a millimetre; two sizes within that are equally near.
_SAID_MM = 0.05
_FAR = 10_000.0


@dataclass(frozen=True)
class Body:
    """What was measured on the body, in mm; None where it was not."""

    girths: Girths
    high_bust: float | None = None


@dataclass(frozen=True)
class Ease:
    """What a size gives at a level: girths in mm, ``ease`` the garment's less the body's."""

    size: str
    level: str
    garment: float
    body: float

    @property
    def ease(self) -> float:
        return self.garment - self.body

    @property
    def stretch_needed(self) -> float:
        """The share by which the cloth must stretch to go round the body, 0 where it need not."""
        return max(self.body / self.garment - 1.0, 0.0)


@dataclass(frozen=True)
class Picked:
    """The size for a body: ``by`` is what the upper body was sized by, ``at`` the size at each level measured.

    ``eases`` are those of every size at every level that was measured and is drawn; ``fuller`` is by how much (mm)
    the full bust is more than the size at the bust is for, None where it was sized by it.
    """

    by: str | None
    at: Mapping[str, str]
    eases: tuple[Ease, ...]
    fuller: float | None
    findings: tuple[Finding, ...]

    def ease(self, size: str, level: str) -> Ease | None:
        """The ease of one size at one level, None where it cannot be told."""
        return next((one for one in self.eases if (one.size, one.level) == (size, level)), None)


def picked(garment: Garment, body: Body, stretch: float | None = None) -> Picked:
    """The size at each level for a body; ``stretch`` is the share by which the cloth stretches, None if not known.

    Raises PatternError when the garment has no table of sizes, or nothing was measured that the table holds.
    """
    by = sized_by(body)
    looked_up = {level: getattr(body.girths, level) for level in LEVELS_OF_BODY}
    if by == HIGH_BUST:
        looked_up[BUST] = body.high_bust
    gives = garment.knit or bool(stretch)
    at = {
        level: _nearest(column_of(garment, level), girth, gives)
        for level, girth in looked_up.items()
        if girth is not None and column_of(garment, level)
    }
    if not at:
        raise PatternError(_why_none(garment))
    eases = tuple(_eases(garment, body.girths))
    fuller = None
    if by == HIGH_BUST and body.girths.bust is not None:
        fuller = body.girths.bust - column_of(garment, BUST)[at[BUST]]
    found = Picked(by, at, eases, fuller, ())
    said = (*_beyond(garment, looked_up), *_tight(garment, found, stretch))
    return Picked(by, at, eases, fuller, said)


def sized_by(body: Body) -> str | None:
    """“high bust” or “bust”, by the rule of 2 in; None when neither was measured."""
    bust = body.girths.bust
    if body.high_bust is not None and (bust is None or bust - body.high_bust >= FULL_ABOVE_HIGH_MM - _SAID_MM):
        return HIGH_BUST
    return BUST if bust is not None else None


def column_of(garment: Garment, level: str) -> dict[str, float]:
    """The table's girths (mm) at a level for the sizes that are drawn."""
    rows = garment.size_table.girths if garment.size_table is not None else {}
    found = {size: getattr(rows[size], level) for size in size_names(garment) if size in rows}
    return {size: girth for size, girth in found.items() if girth is not None}


def girth_at(garment: Garment, level: str) -> float | None:
    """The girth (mm) of the garment at its bust, waist or hip line, darts closed; None where no piece has the line.

    Pieces that copy another (facings) do not count; a lap beyond the centre line does not either.
    """
    widths = [
        (piece.cut_count, _width(piece, line))
        for piece in garment.pieces
        if not piece.copies and (line := piece.line(_LINES[level])) is not None and line.chain.is_straight
    ]
    return sum(count * width for count, width in widths) if widths else None


def _width(piece: Piece, line: Line) -> float:
    (x0, y0), (ux, uy) = line.chain.start, line.chain.start_tangent
    level = shapely.LineString([(x0 - _FAR * ux, y0 - _FAR * uy), (x0 + _FAR * ux, y0 + _FAR * uy)])
    shape = piece.polygon.difference(_closed(piece, (ux, uy)))
    centre = piece.line(LineKind.CENTRE)
    if centre is not None and centre.chain.is_straight:
        shape = shape.intersection(_beside(piece, centre.chain.start, centre.chain.start_tangent))
    return float(shape.intersection(level).length)


def _closed(piece: Piece, along: Point) -> shapely.Geometry:
    """The paper inside the darts that are crossed by a line; one that runs along it takes nothing off its length."""
    shapes: list[list[Point]] = [
        [run.chain.start, dart.sewn_point, run.chain.end]
        for dart in piece.darts
        for run in piece.edge(dart.edge).runs
        if run.kind is RunKind.MOUTH and run.dart == dart.id and _crossed(run.chain.start, run.chain.end, along)
    ]
    shapes += [
        [dart.points[0], dart.widest[0], dart.points[1], dart.widest[1]]
        for dart in piece.inner_darts
        if _crossed(*dart.widest, along)
    ]
    return shapely.union_all([shapely.Polygon(shape).buffer(0) for shape in shapes])


def _crossed(start: Point, end: Point, along: Point) -> bool:
    """Whether a dart's mouth lies more along a line than square to it."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    return abs(dx * along[0] + dy * along[1]) > abs(dx * along[1] - dy * along[0])


def _beside(piece: Piece, through: Point, along: Point) -> shapely.Polygon:
    """The half plane beside the centre line in which most of the piece lies."""
    (cx, cy) = piece.polygon.centroid.coords[0]
    left = along[0] * (cy - through[1]) - along[1] * (cx - through[0]) > 0
    nx, ny = (-along[1], along[0]) if left else (along[1], -along[0])
    ends = [(through[0] + s * _FAR * along[0], through[1] + s * _FAR * along[1]) for s in (-1, 1)]
    return shapely.Polygon([*ends, *((x + _FAR * nx, y + _FAR * ny) for x, y in reversed(ends))])


def _eases(garment: Garment, body: Girths) -> Iterator[Ease]:
    for size in size_names(garment):
        drawn = in_size(garment, size)
        for level in LEVELS_OF_BODY:
            girth, of_body = girth_at(drawn, level), getattr(body, level)
            if girth is not None and of_body is not None:
                yield Ease(size, level, girth, of_body)


def _nearest(column: Mapping[str, float], girth: float, gives: bool) -> str:
    off = min(abs(of_size - girth) for of_size in column.values())
    near = [size for size, of_size in column.items() if abs(of_size - girth) <= off + _SAID_MM]
    return (min if gives else max)(near, key=lambda size: column[size])


def _why_none(garment: Garment) -> str:
    if garment.size_table is None or not any(column_of(garment, level) for level in LEVELS_OF_BODY):
        return f"“{garment.name}” has no table that says what body its sizes are for; write one first."
    return "Say at least one girth of the body that the table of sizes holds: bust, waist or hip."


def _beyond(garment: Garment, looked_up: Mapping[str, float | None]) -> Iterator[Finding]:
    """Where the body lies further outside the table than half a step of it."""
    for level, girth in looked_up.items():
        column = sorted(column_of(garment, level).values())
        if girth is None or len(column) < 2:
            continue
        for end, beside, words in ((column[0], column[1], "smaller"), (column[-1], column[-2], "larger")):
            out = girth - end if words == "larger" else end - girth
            if out > abs(end - beside) / 2:
                yield Finding(
                    "size-beyond-table",
                    Level.WARN,
                    f"The {level} of {mm_words(girth)} is {words} than any size of the table is for by "
                    f"{mm_words(out)}; let the seams {'out' if words == 'larger' else 'in'} there as well.",
                )


def _tight(garment: Garment, found: Picked, stretch: float | None) -> Iterator[Finding]:
    for level, size in found.at.items():
        ease = found.ease(size, level)
        if ease is None or ease.ease >= -_SAID_MM:
            continue
        needs = math.ceil(round(100 * ease.stretch_needed, 6))
        start = f"Size {size} is {mm_words(-ease.ease)} less than the body at the {level}"
        if stretch is None and garment.knit:
            says = f"{start}: the cloth must stretch by {needs} % at least; measure it on a fold."
            yield Finding("negative-ease", Level.NOTICE, says)
        elif stretch is None or ease.stretch_needed > stretch:
            has = f"stretches by {round(100 * stretch)} %" if stretch else "does not stretch"
            says = f"{start}; it would have to stretch by {needs} %, and the cloth {has}: take a size up there."
            yield Finding("stretch-too-little", Level.WARN, says)

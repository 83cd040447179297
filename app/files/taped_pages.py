"""A small drawing of how two pages are taped: cut, laid on each other by the diamonds, taped."""

from __future__ import annotations

from app.files.paper_pen import Brush
from geometry.drawing import Look
from geometry.motions import Point

#: Width and height (mm) of the whole drawing, its words included.
WIDE_MM, HIGH_MM = 84.0, 19.5
_PAGE_WIDE, _PAGE_HIGH, _STRIP = 18.0, 14.5, 3.5
_DIAMOND, _FROM_END = 1.1, 2.6
_EDGE, _JOIN, _LIGHT, _MARK = Look(0.25), Look(0.2, (1.6, 0.9), 0.3), Look(0.15, (), 0.6), Look(0.25)
_TAPE = Look(0.0, (), 0.85)
_WORDS_MM = 1.9


def draw_join_sketch(brush: Brush, corner: Point, first: str, second: str, *, overlap: bool) -> None:
    """The drawing with its lower left corner at ``corner`` (mm): two pages by their names, that overlap or that meet
    edge to edge."""
    x, y = corner[0], corner[1] + 5.0
    joined = x + WIDE_MM - 2 * (_PAGE_WIDE - _STRIP)
    _page(brush, (x, y), first, right=True, cut=True, whole=overlap)
    _page(brush, (x + _PAGE_WIDE + 3.0, y), second, right=False, cut=not overlap, whole=overlap)
    _together(brush, (joined, y), first, second, overlap=overlap)
    foot = y - 3.4
    brush.text((x, foot), "cut off on the right" if overlap else "cut off on both", _WORDS_MM)
    brush.text(
        (x + WIDE_MM, foot), "lay on, diamonds meet; tape" if overlap else "edge to edge; tape on the back", _WORDS_MM,
        anchor="end",
    )


def _page(brush: Brush, corner: Point, name: str, *, right: bool, cut: bool, whole: bool) -> None:
    """A page with the join at one side of it; what is to be cut off there is crossed."""
    x, y = corner
    join = x + _PAGE_WIDE - _STRIP if right else x + _STRIP
    outer = x + _PAGE_WIDE if right else x
    brush.box((x, y, x + _PAGE_WIDE, y + _PAGE_HIGH), _EDGE)
    if cut:
        brush.lines([[(join, y), (outer, y + _PAGE_HIGH)], [(join, y + _PAGE_HIGH), (outer, y)]], _LIGHT)
    brush.lines([[(join, y), (join, y + _PAGE_HIGH)]], _JOIN)
    half = None if whole else (-1.0 if right else 1.0)
    brush.lines(_diamonds(join, y, half), _MARK, closed=True)
    _name(brush, (x + _PAGE_WIDE / 2 + (-_STRIP if right else _STRIP) / 2, y + _PAGE_HIGH / 2), name)


def _together(brush: Brush, corner: Point, first: str, second: str, *, overlap: bool) -> None:
    """Both pages joined: the first, cut, over the second, or beside it; a strip of tape across the join."""
    x, y = corner
    join, wide = x + _PAGE_WIDE - _STRIP, _PAGE_WIDE - _STRIP
    brush.box((join, y, join + wide, y + _PAGE_HIGH), _EDGE)
    if overlap:
        behind = join - _STRIP
        brush.lines([[(join, y - 0.7), (behind, y - 0.7), (behind, y)]], _LIGHT)
    low, high = y + _PAGE_HIGH / 2 - 3.0, y + _PAGE_HIGH / 2 + 3.0
    tape = [(join - 2.0, low), (join + 2.0, low), (join + 2.0, high), (join - 2.0, high)]
    brush.fill([tape], _TAPE)
    brush.box((x, y, join, y + _PAGE_HIGH), _EDGE)
    brush.lines(_diamonds(join, y, None), _MARK, closed=True)
    _name(brush, (x + wide / 2 - 1.0, y + _PAGE_HIGH / 2), first)
    _name(brush, (join + wide / 2 + 1.0, y + _PAGE_HIGH / 2), second)


def _diamonds(join: float, low: float, half: float | None) -> list[list[Point]]:
    """Diamonds at both ends of a join, or their halves to the left (-1) or right (1) of it."""
    marks = []
    for y in (low + _FROM_END, low + _PAGE_HIGH - _FROM_END):
        corners = [(join - _DIAMOND, y), (join, y - _DIAMOND), (join + _DIAMOND, y), (join, y + _DIAMOND)]
        marks.append([one for one in corners if half is None or (one[0] - join) * half >= 0.0])
    return marks


def _name(brush: Brush, at: Point, name: str) -> None:
    brush.text(at, name, 2.6, anchor="middle", bold=True)

"""The lists of the first page: which pages each piece is on, what had no room on a piece, how each line looks."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from app.files.paper_pen import Brush, fitted, size_looks
from geometry.drawing import LOOKS, Box, Role
from geometry.letter_widths import shortened, wrapped
from geometry.motions import Point
from geometry.sheets import Page, Sheet
from geometry.strokes import arrow_head

WORDS_MM = 2.1
PITCH_MM = 4.6
#: A heading with what is left above it, and what is left below a list (mm).
HEADING_MM, BELOW_MM = 6.5, 4.0
SAMPLE_MM = 22.0
#: A piece's name before what had no room on it is cut short to so many letters.
NAME_LETTERS = 24
#: Names of pieces are cut short, to so many letters, where their list has more rows than this.
MOST_ROWS, PIECE_LETTERS = 14, (300, 60, 40, 28, 18)
#: What is no line to be listed: a mark's own shape says it, a line leads to words, sizes are listed by their names.
_NOT_LISTED = frozenset({Role.MARK, Role.SIZE, Role.LABEL})


def lists_high(sheet: Sheet, pages: Sequence[Page], wide: float) -> float:
    """How high (mm) all lists are in a column so wide."""
    counts = [len(pieces_and_pages(sheet, pages, wide)), len(_samples(sheet))]
    counts += [len(unsaid)] if (unsaid := _unsaid(sheet, wide)) else []
    return sum(HEADING_MM + PITCH_MM * count for count in counts) + BELOW_MM * (len(counts) - 1)


def draw_lists(brush: Brush, sheet: Sheet, pages: Sequence[Page], box: Box) -> None:
    """The lists in a box (mm), the words from the top, the lines at its foot; words that have no room are counted."""
    left, low, right, top = box
    samples, wide = _samples(sheet), right - left
    end = low + HEADING_MM + PITCH_MM * len(samples) + BELOW_MM
    top = draw_list(brush, "Pieces and their pages", pieces_and_pages(sheet, pages, wide), (left, end, right, top))
    if unsaid := _unsaid(sheet, wide):
        draw_list(brush, "Said here for want of room", unsaid, (left, end, right, top))
    _legend(brush, sheet, samples, left, low)


def draw_list(brush: Brush, heading: str, rows: Sequence[str], box: Box) -> float:
    """A heading and its rows from the top of a box; gives the height (mm) at which they end."""
    left, low, _, y = box
    room = int((y - low - HEADING_MM) / PITCH_MM + 1e-6)
    if room < 1:
        return y
    brush.text((left, y - 3.0), heading, 3.0, bold=True)
    y -= HEADING_MM
    for row in rows if len(rows) <= room else [*rows[: room - 1], f"and {len(rows) - room + 1} more rows"]:
        brush.text((left, y - PITCH_MM / 2), row, WORDS_MM)
        y -= PITCH_MM
    return y - BELOW_MM


def pieces_and_pages(sheet: Sheet, pages: Sequence[Page], wide: float) -> list[str]:
    """“1 Front: A1–A3, B2” for each piece, in rows so wide (mm); its number is that on the map.

    Long names are cut short where they would leave too little room for the map.
    """
    rows: list[str] = []
    for letters in PIECE_LETTERS:
        rows = []
        for number, one in enumerate(sheet.placed, 1):
            on = [page for page in pages if number - 1 in page.placed]
            rows += _rows(f"{number} {shortened(one.drawing.name, letters)}: {', '.join(_runs(on))}", wide)
        if len(rows) <= MOST_ROWS:
            break
    return rows


def _unsaid(sheet: Sheet, wide: float) -> list[str]:
    """What had no room on the pieces, in rows so wide (mm)."""
    named = ((shortened(one.drawing.name, NAME_LETTERS), one.drawing.unsaid) for one in sheet.placed)
    texts = [f"{name}: {words}" for name, unsaid in named for words in unsaid]
    return [row for text in texts for row in _rows(text, wide)]


def _rows(text: str, wide: float) -> list[str]:
    first, *others = [fitted(row, WORDS_MM, wide) for row in wrapped(text, WORDS_MM, wide - 4.0)]
    return [first, *(f"    {row}" for row in others)]


def _runs(pages: Sequence[Page]) -> Iterator[str]:
    """Names of pages, those that follow each other in a row as “A1–A3”."""
    for _, group in itertools.groupby(enumerate(pages), lambda one: (one[1].row, one[1].column - one[0])):
        run = [page.name for _, page in group]
        yield run[0] if len(run) == 1 else f"{run[0]}–{run[-1]}"


def _samples(sheet: Sheet) -> list[tuple[str, Role]]:
    """Each line of the sheet by its name and its role, the sizes of a nest last."""
    drawn = {stroke.role for one in sheet.placed for stroke in one.drawing.strokes} - _NOT_LISTED
    listed = [("place on fold" if role is Role.FOLD else role.value, role) for role in Role if role in drawn]
    strokes = [stroke for one in sheet.placed for stroke in one.drawing.strokes]
    return [*listed, *((name, Role.SIZE) for name, _ in size_looks(strokes))]


def _legend(brush: Brush, sheet: Sheet, samples: Sequence[tuple[str, Role]], left: float, low: float) -> None:
    """Each line by its look and its name, in rows that end at ``low``."""
    sizes = dict(size_looks(stroke for one in sheet.placed for stroke in one.drawing.strokes))
    y = low + PITCH_MM * (len(samples) - 1) + 1.0
    brush.text((left, y + 6.1), "Lines", 3.0, bold=True)
    for name, role in samples:
        look, right = sizes.get(name, LOOKS[role]), left + SAMPLE_MM
        if look.filled:
            brush.fill([[(left, y - 1.2), (right, y - 1.2), (right, y + 1.2), (left, y + 1.2)]], look)
        else:
            brush.lines(_sample_of(role, left, y), look)
        if role is Role.FOLD:
            heads = [[(x, y + 1.6), (x - 0.6, y - 0.1), (x + 0.6, y - 0.1)] for x in (left, right)]
            brush.lines(heads, look, closed=True)
        if role is Role.GRAIN:
            brush.strokes(arrow_head(role, (right, y), (-1.0, 0.0), closed=True))
        brush.text((left + 26.0, y), name, WORDS_MM)
        y -= PITCH_MM


def _sample_of(role: Role, left: float, y: float) -> list[list[Point]]:
    """What a line looks like in the list: the fold's bracket is turned at both ends, a notch stands on a line."""
    right, middle = left + SAMPLE_MM, left + SAMPLE_MM / 2
    if role is Role.FOLD:
        return [[(left, y + 1.6), (left, y - 1.4), (right, y - 1.4), (right, y + 1.6)]]
    if role is Role.NOTCH:
        return [[(middle - 5.0, y - 1.4), (middle + 5.0, y - 1.4)], [(middle, y - 1.4), (middle, y + 1.6)]]
    return [[(left, y), (right, y)]]

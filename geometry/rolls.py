"""Pieces on one large sheet or a roll of paper: as short as true shapes allow, on several where one does not do.

On paper only: never an arrangement on cloth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from geometry.arranging import shape_of, turns_of
from geometry.drawing import Drawing, Placed
from geometry.errors import PatternError
from geometry.letter_widths import shortened
from geometry.papers import PAPERS, Paper
from geometry.relaying import Effort, Relaying, Spots
from geometry.shape_cells import INSET_MM
from geometry.sheets import Sheet, SheetSettings

#: A PDF's page is at most 14,400 units of 1/72 in (ISO 32000), 5.08 m.
LONGEST_MM = 5080.0
#: Widths of rolls: 24 and 36 in plotters' rolls, and A0's (ISO 216).
ROLLS = {"610": 610.0, "841": 841.0, "914": 914.0}
#: Large sheets by ANSI/ASME Y14.1 (inches there).
ANSI = {
    "ansi-c": Paper("ANSI C", 17 * 25.4, 22 * 25.4),
    "ansi-d": Paper("ANSI D", 22 * 25.4, 34 * 25.4),
    "ansi-e": Paper("ANSI E", 34 * 25.4, 44 * 25.4),
}
LARGE = {name: PAPERS[name] for name in ("a0", "a1", "a2", "a3")} | ANSI


@dataclass(frozen=True)
class LargePaper:
    """What is laid on: its width, how long a piece of it may be, whether it is cut off behind the last piece (a roll),
    and what stays blank on every side (mm). Raises PatternError where nothing is left to lay pieces on."""

    name: str
    width_mm: float
    longest_mm: float
    is_roll: bool
    margin_mm: float = 10.0

    def __post_init__(self) -> None:
        if self.margin_mm < 0 or min(self.width_mm, self.longest_mm) - 2 * self.margin_mm < 100.0:
            raise PatternError(f"A margin of {self.margin_mm:g} mm leaves no room on {self.name}.")
        if max(self.width_mm, self.longest_mm) > LONGEST_MM:
            raise PatternError(f"A sheet is at most {LONGEST_MM:g} mm long and wide; {self.name} is larger.")


def roll(width_mm: float, margin_mm: float = 10.0) -> LargePaper:
    """A roll of this width."""
    return LargePaper(f"a roll of {width_mm:g} mm", width_mm, LONGEST_MM, True, margin_mm)


def large_sheet(paper: Paper, margin_mm: float = 10.0) -> LargePaper:
    """A sheet lying on its long side, as plotters take it."""
    wide, long = sorted((paper.width_mm, paper.height_mm))
    return LargePaper(paper.name, wide, long, False, margin_mm)


def lay(drawings: Sequence[Drawing], paper: LargePaper) -> tuple[Sheet, ...]:
    """The drawings on as few and as short sheets as are found; x runs along the paper, y across it.

    The same drawings always give the same sheets. Raises PatternError for a piece that fits in no quarter turn.
    """
    if not drawings:
        raise PatternError("There is no piece to lay on paper.")
    sheets = []
    left = list(drawings)
    while left:
        laid, sheet = _one_sheet(left, paper)
        sheets.append(sheet)
        left = [one for one in left if one.piece_id not in laid]
    return tuple(sheets)


def _one_sheet(drawings: Sequence[Drawing], paper: LargePaper) -> tuple[set[str], Sheet]:
    """One sheet with all of the drawings, or with as many of them, the largest first, as it holds."""
    free = Paper("laid on", paper.width_mm - 2 * paper.margin_mm, paper.longest_mm - 2 * paper.margin_mm)
    settings = SheetSettings(free, 0.0, 0.0)
    for count in range(len(drawings), 0, -1):
        # Pieces are laid with the roll hanging down, so that shortest is uppermost.
        order = sorted(drawings, key=lambda one: (-_area(one), one.piece_id))[:count]
        chosen = [one for one in drawings if one in order]
        shapes, turns = [shape_of(one) for one in chosen], [turns_of(one) for one in chosen]
        relaying = Relaying(shapes, turns, 1, 1, settings, Effort())
        start = relaying.from_nothing()
        if start is not None:
            spots = relaying.bettered(start)
            return {one.piece_id for one in chosen}, _sheet(chosen, spots, relaying, paper)
    largest = max(drawings, key=_area)
    says = f"“{shortened(largest.name)}” is larger than {paper.name}; take a wider one, or print it as pages to tape."
    raise PatternError(says, largest.piece_id)


def _sheet(drawings: Sequence[Drawing], spots: Spots, relaying: Relaying, paper: LargePaper) -> Sheet:
    cells = [relaying.cells(index, spots[index].turn) for index in range(len(drawings))]
    deep = max(one.size[1] + spots[index].y for index, one in enumerate(cells)) + INSET_MM
    length = deep + 2 * paper.margin_mm if paper.is_roll else paper.longest_mm
    placed = []
    for index, (drawing, one) in enumerate(zip(drawings, cells, strict=True)):
        hanging = one.motion(spots[index].x, spots[index].y, deep)
        # From hanging down to lying along: a quarter turn against the clock brings the top to the left.
        lying = replace(hanging, a=-hanging.b, b=hanging.a, c=-hanging.d, d=hanging.c, e=-hanging.f, f=hanging.e)
        shift = replace(lying, e=lying.e + deep + paper.margin_mm, f=lying.f + paper.margin_mm)
        placed.append(Placed(drawing, shift))
    return Sheet(tuple(placed), length, paper.width_mm)


def _area(drawing: Drawing) -> float:
    x0, y0, x1, y1 = drawing.bounds()
    return (x1 - x0) * (y1 - y0)

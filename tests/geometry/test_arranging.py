"""Few sheets: arrangements by true shape against every arrangement there is, against boxes, and against the area."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate, translate

from geometry.arranging import _closed_up, alone, arrange, least_pages
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.lines import polyline
from geometry.motions import Motion
from geometry.papers import Paper
from geometry.sheets import APART_MM, Sheet, SheetSettings, tile
from tests import drawn

#: A small paper whose pages step by 100 mm, so that all places of small pieces can be tried.
SMALL = SheetSettings(Paper("small", 112.0, 112.0), 1.0, 10.0)
GRID = 10
#: How many of nine pages a mask of bits names.
BITS = np.array([mask.bit_count() for mask in range(512)])


def drawing(name: str, *corners: tuple[float, float]) -> Drawing:
    return Drawing(name, name, (Stroke(Role.CUT, polyline([*corners, corners[0]]), True, name),), ())


def block(name: str, wide: float, high: float) -> Drawing:
    return drawing(name, (0, 0), (wide, 0), (wide, high), (0, high))


def angle(name: str, long: float, thick: float) -> Drawing:
    """An L: two arms of this length and thickness."""
    return drawing(name, (0, 0), (long, 0), (long, thick), (thick, thick), (thick, long), (0, long))


def printed(sheet: Sheet, settings: SheetSettings) -> int:
    return sum(not page.skipped for page in tile(sheet, settings))


def fewest(drawings: Sequence[Drawing], settings: SheetSettings, step_deg: int = 90) -> int:
    """The fewest pages over all turns by steps and all places on a grid of GRID mm, two pieces, APART_MM between them.

    By brute force with shapely on 3 x 3 pages, the first piece's corner on the first page or its left neighbour's end.
    """
    dx, dy = settings.step
    half = settings.overlap_mm / 2
    outlines = [shapely.Polygon(one.strokes[0].chain.cubics[:, 0]) for one in drawings]
    shapes = [[rotate(outline, turn, origin=(0, 0)) for turn in range(0, 360, step_deg)] for outline in outlines]
    pages = [
        shapely.box(
            half + c * dx if c else -1.0, half + r * dy if r else -1.0,
            half + (c + 1) * dx if c < 2 else 1e4, half + (r + 1) * dy if r < 2 else 1e4,
        )
        for r in range(3) for c in range(3)
    ]
    laid: list[list[tuple[shapely.Geometry, int]]] = []
    for turns in shapes:
        places: dict[bytes, tuple[shapely.Geometry, int]] = {}
        for shape in turns:
            x0, y0, x1, y1 = shape.bounds
            for x, y in itertools.product(np.arange(1.0, 3 * dx, GRID), repeat=2):
                if x + x1 - x0 <= 3 * dx + 9 and y + y1 - y0 <= 3 * dy + 9:
                    there = translate(shape, x - x0, y - y0)
                    mask = sum(1 << k for k, page in enumerate(pages) if shapely.intersects(page, there))
                    places[shapely.to_wkb(shapely.normalize(there))] = (there, mask)
        laid.append(sorted(places.values(), key=lambda one: one[1].bit_count()))
    best = 99
    second = np.array([shape for shape, _ in laid[1]])
    masks = np.array([mask for _, mask in laid[1]])
    tree = shapely.STRtree(second)
    for shape, mask in laid[0]:
        counts = BITS[masks | mask]
        if counts.min() >= best:
            continue
        near = tree.query(shape, predicate="dwithin", distance=APART_MM - 1e-9)
        counts[near] = 99
        best = min(best, int(counts.min()))
    return best


PAIRS = {
    "two that share a page": (block("a", 45, 95), block("b", 45, 90)),
    "one turned to share": (block("a", 95, 45), block("b", 40, 95)),
    "an L and what lies in its corner": (angle("a", 95, 25), block("b", 60, 60)),
    "two Ls locked": (angle("a", 95, 30), angle("b", 55, 20)),
    "long and short": (block("a", 180, 40), block("b", 90, 50)),
    "large and small": (block("a", 150, 150), block("b", 45, 90)),
}


@pytest.mark.parametrize("pair", PAIRS)
def test_as_few_pages_as_any_arrangement_of_two(pair: str) -> None:
    pieces = PAIRS[pair]
    assert printed(arrange(pieces, SMALL), SMALL) <= fewest(pieces, SMALL)


def test_shapes_are_laid_into_each_other() -> None:
    """A page of 197 x 284 mm: an L of 190 and a block of 120 take one page together, as boxes two."""
    settings = SheetSettings()
    pieces = (angle("a", 190, 60), block("b", 120, 110))
    assert printed(arrange(pieces, settings), settings) == 1
    assert printed(arrange(pieces, settings, closely=False), settings) == 1 + (190 + 110 + 5 > 284)


@pytest.mark.parametrize("lying", [False, True])
def test_never_more_pages_than_as_boxes_and_never_fewer_than_the_area(lying: bool) -> None:
    settings = SheetSettings(landscape=lying)
    close = printed(arrange(drawn.drawings(), settings), settings)
    assert least_pages(drawn.drawings(), settings) <= close
    assert close <= printed(arrange(drawn.drawings(), settings, closely=False), settings)
    assert close <= alone(drawn.drawings(), settings)


def test_pages_of_pieces_by_themselves() -> None:
    """190 x 270 fits one page of A4 upright; 200 x 100 is wider than the 197.3 mm of one page and takes two."""
    assert alone([block("a", 190, 270)], SheetSettings()) == 1
    assert alone([block("a", 200, 100)], SheetSettings()) == 2
    assert alone([block("a", 190, 270), block("b", 200, 100)], SheetSettings()) == 3


def grained(one: Drawing) -> Drawing:
    """The same piece with a grainline on it."""
    x0, y0, x1, y1 = one.bounds()
    line = Stroke(Role.GRAIN, polyline([((x0 + x1) / 2, y0 + 2), ((x0 + x1) / 2, y1 - 2)]), False, "grainline")
    return replace(one, strokes=(*one.strokes, line))


#: A strip of 12 x 132 mm lies across a page of 110 mm from corner to corner: its box is then 101.8 mm wide and high,
#: and beside it there is room for a square of 40 in each corner.
STRIP = block("strip", 132, 12)


@pytest.mark.parametrize(
    ("more", "by_quarters", "askew"), [((), 2, 1), ((block("a", 40, 40),), 2, 1), ((block("a", 95, 95),), 3, 2)]
)
def test_askew_where_that_saves_pages(more: tuple[Drawing, ...], by_quarters: int, askew: int) -> None:
    """By hand: longer than a page the strip takes two pages by quarters, one from corner to corner."""
    pieces = (STRIP, *more)
    sheet = arrange(pieces, SMALL)
    assert printed(sheet, SMALL) == askew
    outlines = [shapely.Polygon(one.there.strokes[0].chain.cubics[:, 0]) for one in sheet.placed]
    assert min((shapely.distance(a, b) for a, b in itertools.combinations(outlines, 2)), default=9.0) > APART_MM - 0.1
    assert printed(arrange([grained(one) for one in pieces], SMALL), SMALL) == by_quarters
    assert printed(arrange([grained(one) for one in pieces], SMALL, freely=True), SMALL) == askew


@pytest.mark.parametrize("pair", [(STRIP, block("a", 40, 40)), (STRIP, block("b", 30, 95))], ids=["square", "oblong"])
def test_as_few_pages_as_any_arrangement_of_two_by_eighths(pair: tuple[Drawing, Drawing]) -> None:
    """Every eighth of a turn and every place on the grid, by brute force."""
    assert printed(arrange(pair, SMALL), SMALL) <= fewest(pair, SMALL, 45)


def test_upright_where_askew_saves_nothing() -> None:
    for one in arrange((block("a", 45, 95), block("b", 45, 90)), SMALL).placed:
        assert min(abs(one.motion.a), abs(one.motion.b)) < 1e-12


def test_the_last_row_keeps_what_lies_beyond_its_join() -> None:
    """By hand: 841 mm lie over five columns of A4 (5 x 185.3 + 12 = 938.5), 275 mm in the first row and in the last,
    which keep 278.3 mm each; so two such pieces take ten pages, upright they would take twelve."""
    pieces = [grained(block("a", 275, 841)), grained(block("b", 275, 841))]
    assert printed(arrange(pieces, SheetSettings()), SheetSettings()) == 10


def test_a_small_piece_lies_on_one_page_where_that_costs_none() -> None:
    """By hand: 4 pages of A4 hold a piece of 350 x 530 mm and leave, at the right, a strip that a joined pair of pages
    shares; what is 15 mm wide and 200 mm high fits each of them whole."""
    sheet = arrange([grained(block("a", 350, 530)), grained(block("b", 15, 200))], SheetSettings())
    small = Sheet((sheet.placed[1],), sheet.width, sheet.height)
    assert (printed(sheet, SheetSettings()), printed(small, SheetSettings())) == (4, 1)


def test_no_row_or_column_of_pages_lies_empty_between_pieces_that_can_be_nearer() -> None:
    """By hand, on pages that keep 100 mm each: what lies on the first row and on the fourth takes two in all."""
    tall = block("a", 40, 40)
    apart = Sheet((Placed(tall, Motion(e=5.0, f=340.0)), Placed(tall, Motion(e=5.0, f=20.0))), *SMALL.size_of(1, 4))
    nearer = _closed_up(apart, SMALL)
    assert [page.skipped for page in tile(apart, SMALL)] == [False, True, True, False]
    assert [page.skipped for page in tile(nearer, SMALL)] == [False, False]
    assert [one.motion.f for one in nearer.placed] == [140.0, 20.0]

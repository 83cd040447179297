"""Pieces keep their lines off the joins of the pages, with lengths worked out by hand."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
import shapely

from geometry.arranging import shape_of
from geometry.clear_of_joins import clear_of_joins
from geometry.drawing import Drawing, Placed, Role, Stroke
from geometry.lines import polyline
from geometry.motions import Motion, slide
from geometry.papers import Paper
from geometry.sheets import Sheet, SheetSettings, join_places, tile

#: Pages step by 100 mm; their joins run at 105, 205 and so on.
SMALL = SheetSettings(Paper("small", 112.0, 112.0), 1.0, 10.0)


def block(name: str, wide: float, high: float, *uprights: float) -> Drawing:
    """A block with its lower left corner at 0,0 and stitching lines from foot to top at these x."""
    around = polyline([(0, 0), (wide, 0), (wide, high), (0, high), (0, 0)])
    strokes = [Stroke(Role.STITCH, polyline([(x, 0.0), (x, high)]), False, "line") for x in uprights]
    return Drawing(name, name, (Stroke(Role.CUT, around, True, name), *strokes), ())


def cleared(*laid: tuple[Drawing, float, float], wide: float = 210.0) -> Sequence[Motion]:
    sheet = Sheet(tuple(Placed(one, slide(x, y)) for one, x, y in laid), wide, 110.0)
    shapes = [shape_of(one) for one, _, _ in laid]
    moved = clear_of_joins(sheet, shapes, SMALL)
    assert [page.skipped for page in tile(moved, SMALL)] == [page.skipped for page in tile(sheet, SMALL)]
    assert (moved.width, moved.height) == (sheet.width, sheet.height)
    return [one.motion for one in moved.placed]


PANEL = block("panel", 150.0, 60.0, 74.0)


def test_joins_run_down_the_middle_of_what_pages_share() -> None:
    assert join_places(Sheet((), 310.0, 210.0), SMALL) == ([105.0, 205.0], [105.0])


def test_a_line_a_millimetre_from_a_join_is_moved_off_it() -> None:
    """At 30 the line stands at 104; 2 mm to the left it is 3 mm off the join, which is enough, 1 mm is not."""
    assert cleared((PANEL, 30.0, 20.0)) == [slide(28.0, 20.0)]


def test_where_another_piece_is_in_the_way_it_is_moved_the_other_way() -> None:
    """The neighbour ends at 25, 5 mm off, as near as pieces lie: 4 mm to the right the line stands at 108."""
    laid = cleared((PANEL, 30.0, 20.0), (block("strip", 15.0, 60.0), 10.0, 20.0))
    assert laid == [slide(34.0, 20.0), slide(10.0, 20.0)]


def test_what_has_no_room_to_move_stays() -> None:
    strips = [(block(name, 10.0, 60.0), x, 20.0) for name, x in (("left", 15.0), ("right", 185.0))]
    assert cleared((PANEL, 30.0, 20.0), *strips)[0] == slide(30.0, 20.0)


@pytest.mark.parametrize("at", [102.0, 108.0, 60.0])
def test_lines_that_can_be_told_from_the_join_stay_where_they_are(at: float) -> None:
    assert cleared((block("panel", 150.0, 60.0, at - 30.0), 30.0, 20.0)) == [slide(30.0, 20.0)]


def test_no_page_more_is_printed_for_it() -> None:
    """The block ends at 104, on one page; beyond the join it would take a second, so it goes to the left."""
    assert cleared((block("panel", 100.0, 60.0), 4.0, 20.0)) == [slide(2.0, 20.0)]
    page_two_alone = [(block("panel", 95.0, 60.0), 106.0, 20.0)]
    assert cleared(*page_two_alone) == [slide(108.0, 20.0)]


def test_lines_that_cross_a_join_or_are_short_are_left() -> None:
    across = Stroke(Role.CUT, polyline([(0, 0), (150, 0), (150, 60), (0, 60), (0, 0)]), True, "panel")
    short = Stroke(Role.STITCH, polyline([(74, 10), (74, 20)]), False, "short")
    panel = Drawing("panel", "panel", (across, short), ())
    assert cleared((panel, 30.0, 20.0)) == [slide(30.0, 20.0)]
    assert shapely.area(shape_of(panel)) == pytest.approx(150 * 60 + 2 * 0.5 * 210, abs=2.0)

"""What lies under a redrawn piece on paper: its shading as pypdfium2 fills it, and the lines of other sizes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pypdfium2
import shapely

from app.files.large_pdf import large_pdf
from geometry.drawing import Drawing, Placed, record
from geometry.lines import flatten, polyline
from geometry.motions import Motion
from geometry.pens import LOOKS, Role, Stroke
from geometry.sheets import Sheet
from geometry.strokes import outline_of
from geometry.underlay import shading, size_strokes
from tests import canon, drawn


def square(side: float) -> Stroke:
    corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side), (0.0, 0.0)]
    return Stroke(Role.SHADE, polyline(corners), True, "stitching line altered")


def test_what_lies_between_two_outlines_is_grey_and_nothing_else() -> None:
    """Squares of 50 and 60 mm on one corner: what one of them alone has is a hook of 60² − 50² = 1100 mm²."""
    laid = Placed(Drawing("piece", "piece", (square(50.0), square(60.0)), ()), Motion(e=20.0, f=30.0))
    page = pypdfium2.PdfDocument(large_pdf([Sheet((laid,), 100.0, 100.0)]))[0]
    image = page.render(scale=200 / 72, grayscale=True).to_numpy()
    grey = 1 - image.reshape(image.shape[:2]).astype(float) / 255
    grey = grey[: int(0.8 * len(grey))]
    dark = 1 - round(LOOKS[Role.SHADE].grey * 255) / 255
    assert grey.max() < dark + 0.02, "lines are not drawn"
    assert abs((grey / dark).sum() * (100.0 / image.shape[1]) ** 2 - 1100.0) < 16.0


def test_what_was_not_altered_is_not_shaded() -> None:
    cut = drawn.cuts()[0]
    assert list(shading(cut, cut)) == []
    lower = Motion(f=-4.0)
    assert cut.cutting is not None
    moved = replace(cut, cutting=cut.cutting.moved(lower))
    assert {stroke.name for stroke in shading(cut, moved)} == {"cutting line altered"}
    other = replace(moved, piece=canon.front())
    names = [stroke.name for stroke in shading(cut, other)]
    assert names == ["stitching line altered"] * 2 + ["cutting line altered"] * 2


def test_shading_and_lines_as_traced_are_drawn_first_and_words_keep_clear_of_the_lines() -> None:
    cut = drawn.cuts()[0]
    before = canon.front()
    drawing = record(cut, before=before, shaded=replace(cut, piece=before))
    roles = [stroke.role for stroke in drawing.strokes]
    assert roles.index(Role.BEFORE) < roles.index(Role.CUT) and Role.SHADE in roles[:2]
    line = shapely.LineString(flatten(outline_of(before), 0.05)[0])
    assert not any(line.intersects(shapely.Polygon(words.box())) for words in drawing.words)


def test_other_sizes_are_their_cutting_lines() -> None:
    cut = drawn.cuts()[1]
    larger = replace(cut, cutting=cut.cutting.moved(Motion(e=3.0)) if cut.cutting else None)
    bare = replace(cut, cutting=None)
    strokes = list(size_strokes([("16", larger), ("18", bare)]))
    assert [stroke.name for stroke in strokes] == ["size 16", "size 18"]
    assert np.allclose(strokes[1].chain.cubics, outline_of(cut.piece).cubics)
    assert strokes[0].chain is larger.cutting

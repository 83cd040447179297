"""Two pictures of one piece joined on marks that both show, on the page of tracing, and taken apart again."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from app.tracing.found import FoundPicture
from app.window.trace_picture import under
from app.window.trace_shared import SharedMarks, marks_row
from geometry.motions import Point

if TYPE_CHECKING:
    from app.window.trace_page import TracePage


class PictureJoining:
    """Offers the pictures that may be joined to the one that is shown, and gives the page the answer."""

    def __init__(self, page: TracePage) -> None:
        self._page = page
        page.side.picture_joining.connect(self.join)
        page.photo.taken_off.connect(self.take_off)

    def offered(self) -> dict[int, str]:
        """The pictures that may be joined to the one that is shown, by the place of their files."""
        page = self._page
        if page.shown_picture is None:
            return {}
        return {
            other: page.name_of(other)
            for other in page.state.shown
            if other != page.file and page.picture_of(other) is not None and not page.state.joined_to(other)
        }

    def join(self, other: int) -> None:
        """Show another picture beside the one that is shown, and let marks be set on both."""
        page, here, there = self._page, self._page.shown_picture, self._page.picture_of(other)
        assert here is not None and there is not None
        file = page.file

        def joined(marks: SharedMarks) -> None:
            first, second = marks.points
            row = marks_row(_pixels(here, first), _pixels(there, second))
            page.side.take_up(None)
            page.put(page.state.with_picture(file, other, row))

        in_mm = here.in_mm and there.in_mm
        marks = SharedMarks((page.name_of(file), page.name_of(other)), joined, in_mm=in_mm)
        page.notice.hide()
        page.side.take_up_both(marks, under(there))

    def take_off(self) -> None:
        """Take the picture that was joined to the shown one last off again."""
        self._page.side.take_up(None)
        self._page.put(self._page.state.without_picture(self._page.file), anyway=True)


def _pixels(picture: FoundPicture, points: list[Point]) -> list[Point]:
    return [(x, y) for x, y in picture.view.pixels(np.array(points)).tolist()]

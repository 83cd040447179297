"""Two files of one piece joined on the page of tracing, and taken apart again: pictures on marks that both show,
drawings by being laid beside each other, so that the parts on them can be joined on their match line."""

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
        page.side.file_joining.connect(self.join)
        page.side.taking_off.connect(self.take_off)
        page.photo.taken_off.connect(self.take_off)

    def offered(self) -> dict[int, str]:
        """The files that may be joined to the one that is shown, by their places: pictures to a picture, drawings to a
        drawing."""
        page = self._page
        drawing = page.is_drawing(page.file)
        return {
            other: page.name_of(other)
            for other in page.state.shown
            if other != page.file and not page.state.joined_to(other) and page.is_drawing(other) is drawing
            and (drawing or None not in (page.picture_of(other), page.shown_picture))
        }

    def join(self, other: int) -> None:
        """Let another file be joined to the one that is shown."""
        if self._page.shown_picture is None:
            self._lay_beside(other)
        else:
            self._set_marks(other)

    def _lay_beside(self, other: int) -> None:
        """Lay another drawing beside the one that is shown, and let the match lines be clicked then."""
        page = self._page
        laid = page.state.with_drawing(page.file, other)
        page.side.take_up(None)
        page.put(laid)

        def join() -> None:
            page.acts.join()
            page.picture.fit()

        page.after(laid, join)

    def _set_marks(self, other: int) -> None:
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
        """Take the file that was joined to the shown one last off again."""
        page = self._page
        page.side.take_up(None)
        if page.shown_picture is None:
            page.put(page.state.without_drawing(page.file), anyway=True)
        else:
            page.put(page.state.without_picture(page.file), anyway=True)


def _pixels(picture: FoundPicture, points: list[Point]) -> list[Point]:
    return [(x, y) for x, y in picture.view.pixels(np.array(points)).tolist()]

"""What is done by clicks and drags in the picture of the page of tracing, and the answers that follow from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.tracing.corner_answers import corner_changes, moved_corners
from app.tracing.corners_by_hand import rows_of
from app.tracing.moved_by_hand import Move, move_words
from app.tracing.tracing import Traced
from app.window.trace_marks import mark_sentences, marked
from app.window.trace_tools import OutlineTool, PointsTool
from geometry.errors import PatternError
from geometry.motions import Point

if TYPE_CHECKING:
    from app.window.trace_page import TracePage


class TraceActs:
    """Takes up the tools of a page's picture and gives the page the answers."""

    def __init__(self, page: TracePage) -> None:
        self._page = page
        side = page.side
        side.correcting.connect(self.correct)
        side.marking.connect(self.mark)
        side.cornering.connect(self.corner)
        side.joining.connect(self.join)

    def correct(self, wanted: bool) -> None:
        """Show handles on the outline, or take them away."""
        page, traced = self._page, self._page.traced
        if wanted and traced is not None:
            lines = [line.chain for line in traced.found.lines if line.closed]
            corners = [at for wanted_there, at in rows_of(traced.found, page.answers) if wanted_there]
            page.side.take_up(OutlineTool(lines, self._move, corners))
        elif not wanted and isinstance(page.picture.tool, OutlineTool):
            page.side.take_up(None)

    def _move(self, move: Move) -> None:
        """Take a place of the outline elsewhere, a corner that was set there with it."""
        page, traced = self._page, self._page.traced
        assert traced is not None
        row = move_words(traced.found, move)
        before = page.answers.get("moved")
        moved = {"moved": f"{before}\n{row}" if before else row}
        page.change({**moved, **moved_corners(traced, page.answers, move.start, move.to)}, leave=False)

    def mark(self, kind: str) -> None:
        """Place a mark by clicks, or take the nearest one away."""
        traced = self._page.traced
        if traced is None:
            return
        found = traced.found

        def done(points: list[Point]) -> None:
            rows = marked(found, self._page.answers, kind, points)
            self._page.change({"marks": "\n".join(rows) or None})

        self._page.side.take_up(PointsTool(mark_sentences(kind), done))

    def corner(self, wanted: bool) -> None:
        """Set a corner by a click on the outline, or take one away."""
        traced = self._page.traced
        if traced is None:
            return
        says = (
            "Click the place on the outline where the corner is; look closer to set it well."
            if wanted
            else "Click the corner that is none; the edge then runs through it."
        )
        self._page.side.take_up(PointsTool([says], lambda points: self._cornered(traced, wanted, points[0])))

    def _cornered(self, traced: Traced, wanted: bool, at: Point) -> None:
        page, picture = self._page, self._page.picture
        pixel = picture.view.at(at)
        place = at if wanted and picture.edge_at(pixel) is not None else None
        if not wanted:
            place = picture.corner_at(pixel)
        if place is None:
            page.side.take_up(None)
            what = "outline where you clicked; click the line itself." if wanted else "corner where you clicked."
            page.notice.say(f"There is no {what}", wrong=True)
            return
        try:
            page.change(corner_changes(traced, page.answers, place, wanted=wanted))
        except PatternError as error:
            page.side.take_up(None)
            page.notice.say(error.says, wrong=True)

    def join(self) -> None:
        """Lay two parts together on the two edges that are clicked."""
        says = ["Click the match line of the first part.", "Click the same match line of the second part."]
        self._page.side.take_up(PointsTool(says, self._joined))

    def _joined(self, points: list[Point]) -> None:
        page, picture = self._page, self._page.picture
        first, second = (picture.edge_at(picture.view.at(point)) for point in points)
        if first is None or second is None:
            page.side.take_up(None)
            page.notice.say("There is no edge where you clicked; click the match line itself.", wrong=True)
            return
        row = f"{first[0]}:{first[1] + 1}={second[0]}:{second[1] + 1}"
        before = page.answers.get("join")
        page.change({"join": f"{before}\n{row}" if before else row})

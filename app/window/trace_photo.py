"""The controls for a photo or scan: where its size is from, which line on it is the outline, and how that is found."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
import shapely
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QFrame, QGridLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.tracing.found import FoundPicture
from app.tracing.questions import Answers
from app.window.look import em
from app.window.trace_questions import leave_the_wheel
from app.window.trace_tools import PointsTool
from geometry.errors import PatternError
from geometry.motions import Point
from geometry.papers import A4, LETTER
from geometry.units import read_length

MARKERS, CORNERS, SCAN = "marker sheets", "four known corners", "the scan's resolution"
CUT, PEN_OUT, PEN_MIDDLE, PEN_IN = "the cut edge", "a pen line, outside", "a pen line, middle", "a pen line, inside"
BY_ITSELF, FOLLOWED, BY_POINTS = "by itself", "from a point on it", "by points that I set"
OTHER_SIDES = "other sides"
_PENS = {CUT: None, PEN_OUT: "outside", PEN_MIDDLE: "middle", PEN_IN: "inside"}
_SHEETS = {"a sheet of A4": A4, "a sheet of Letter": LETTER}

#: Answers to set, and those to take away (None), in one step.
Changes = Mapping[str, str | None]


class PhotoControls(QFrame):
    """``changed`` brings the answers that change together; ``takes_up`` a tool for the picture; ``said`` a refusal;
    ``taken_off`` takes off again the picture that was joined to this one last."""

    changed = Signal(object)
    takes_up = Signal(object)
    said = Signal(str)
    taken_off = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "seam")
        self._answers: Answers | None = None
        self._picture: FoundPicture | None = None
        self.size_menu = _menu("Its size is from", (MARKERS, CORNERS, SCAN), self._pick_size)
        self.sheet_menu = _menu("What the corners are of", (*_SHEETS, OTHER_SIDES), self._show_parts)
        self.first_side, self.second_side = _field("Corner 1 to 2"), _field("Corner 2 to 3")
        self.corners_button = _button("Click the four corners…", self._click_corners)
        self.dpi_field = _field("Pixels an inch", "as the file says")
        self.dpi_field.editingFinished.connect(self._take_dpi)
        self.length_field = _field("A length on the scan")
        for field in (self.first_side, self.second_side, self.length_field):
            field.setPlaceholderText("how long it is")
        self.length_button = _button("Click both its ends…", self._click_length)
        self.line_menu = _menu("The outline is", tuple(_PENS), self._pick_line)
        self.way_menu = _menu("It is found", (BY_ITSELF, FOLLOWED, BY_POINTS), self._pick_way)
        self.follow_button = _button("Click a point on the line…", self._click_line)
        self.another_button = _button("Click another point on it…", self._click_another)
        self.points_button = _button("Set points round the piece…", self._click_points)
        self.joined_says = QLabel()
        self.joined_says.setWordWrap(True)
        self.take_off_button = _button("Take it off again", lambda: self.taken_off.emit())
        self._lay_out()

    def _lay_out(self) -> None:
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(em() // 2)
        self._grid.setVerticalSpacing(em() // 4)
        self._grid.setColumnStretch(1, 1)
        title = QLabel("The picture")
        title.setProperty("role", "heading")
        column = QVBoxLayout(self)
        column.setContentsMargins(em() // 2, em() // 3, em() // 2, em() // 3)
        column.addWidget(title)
        column.addLayout(self._grid)
        self._row("Its size is from", self.size_menu)
        self._corner_rows = [
            *self._row("Corners of", self.sheet_menu),
            *self._row("Corner 1 to 2", self.first_side),
            *self._row("Corner 2 to 3", self.second_side),
            *self._row("", self.corners_button),
        ]
        self._scan_rows = [
            *self._row("Pixels an inch", self.dpi_field),
            *self._row("A length on it", self.length_field),
            *self._row("", self.length_button),
        ]
        self._row("The outline is", self.line_menu)
        self._row("It is found", self.way_menu)
        self._follow_rows = self._row("", self.follow_button)
        self._another_rows = self._row("", self.another_button)
        self._points_rows = self._row("", self.points_button)
        self._joined_rows = [*self._row("Joined with", self.joined_says), *self._row("", self.take_off_button)]

    def _row(self, words: str, field: QWidget) -> list[QWidget]:
        at = self._grid.rowCount()
        label = QLabel(words)
        self._grid.addWidget(label, at, 0)
        self._grid.addWidget(field, at, 1)
        return [label, field]

    # -- what is shown ---------------------------------------------------------------------------------------------

    def show_answers(self, answers: Answers, picture: FoundPicture) -> None:
        """Show the answers as they stand; what was chosen but not yet done stays while they do."""
        self._picture = picture
        if answers == self._answers:
            return
        self._answers = answers
        size = CORNERS if "corners" in answers else SCAN if "scan" in answers else MARKERS
        self.size_menu.setCurrentText(size)
        line = next(words for words, pen in _PENS.items() if pen == answers.get("pen"))
        self.line_menu.setCurrentText(line)
        way = BY_POINTS if "points" in answers else FOLLOWED if "follow" in answers else BY_ITSELF
        self.way_menu.setCurrentText(way)
        if "scan" in answers:
            self.dpi_field.setText(answers["scan"])
        checked = answers.get("scan-check", "").rpartition("=")[2]
        self.length_field.setText(f"{read_length(checked).mm:g} mm" if checked else "")
        self._show_parts()

    def show_joined(self, names: Sequence[str], answers: Answers) -> None:
        """The pictures that are joined to this one, with on how many marks."""
        counts = [row.count("=") for row in answers.get("shared-marks", "").split("\n")]
        each = [f"{name} on {count} marks" for name, count in zip(names, counts, strict=False)]
        self.joined_says.setText(", ".join(each))
        for widget in self._joined_rows:
            widget.setVisible(bool(each))

    def _show_parts(self) -> None:
        size, way = self.size_menu.currentText(), self.way_menu.currentText()
        for rows, shown in (
            (self._corner_rows, size == CORNERS),
            (self._corner_rows[2:6], size == CORNERS and self.sheet_menu.currentText() == OTHER_SIDES),
            (self._scan_rows, size == SCAN),
            (self._follow_rows, way == FOLLOWED),
            (self._another_rows, way == FOLLOWED and "follow" in (self._answers or {})),
            (self._points_rows, way == BY_POINTS),
        ):
            for widget in rows:
                widget.setVisible(shown)

    # -- the size --------------------------------------------------------------------------------------------------

    def _pick_size(self) -> None:
        self._show_parts()
        size = self.size_menu.currentText()
        none = {"corners": None, "corner-size": None, "scan": None, "scan-check": None}
        if size == SCAN:
            self.changed.emit({**none, "scan": self.dpi_field.text().strip() or "as the file says"})
        elif size == MARKERS:
            self.changed.emit(none)

    def _take_dpi(self) -> None:
        words = self.dpi_field.text().strip()
        if self.dpi_field.isModified() and words and words != (self._answers or {}).get("scan"):
            self.dpi_field.setModified(False)
            self.changed.emit({"scan": words})

    def _click_corners(self) -> None:
        try:
            sides = self._sides()
        except PatternError as error:
            self.said.emit(error.says)
            return
        says = [f"Click corner {number} of 4, one after another round it." for number in range(1, 5)]
        self.takes_up.emit(PointsTool(says, lambda points: self._take_corners(points, sides)))

    def _sides(self) -> tuple[float, float] | None:
        """The sides that were typed, from corner 1 to 2 and from 2 to 3 (mm); None for a sheet of paper."""
        if self.sheet_menu.currentText() in _SHEETS:
            return None
        return _length(self.first_side, "corner 1 to 2"), _length(self.second_side, "corner 2 to 3")

    def _take_corners(self, points: list[Point], sides: tuple[float, float] | None) -> None:
        if sides is None:
            paper = _SHEETS[self.sheet_menu.currentText()]
            short, long = sorted((paper.width_mm, paper.height_mm))
            first, second = (math.dist(points[i], points[i + 1]) for i in (0, 1))
            sides = (short, long) if first < second else (long, short)
        if not shapely.LinearRing(points).is_ccw:
            # Clicked the other way round: the side from 1 to 4 comes first then.
            points, sides = [points[0], *points[:0:-1]], sides[::-1]
        answers = {"corners": self._pixels(points), "corner-size": f"{sides[0]:.3f}mmx{sides[1]:.3f}mm"}
        self.changed.emit({**answers, "scan": None, "scan-check": None})

    def _click_length(self) -> None:
        try:
            length = _length(self.length_field, "one end to the other")
        except PatternError as error:
            self.said.emit(error.says)
            return
        says = ["Click one end of the length that you know.", "Click its other end."]
        self.takes_up.emit(PointsTool(says, lambda ends: self._take_length(ends, length)))

    def _take_length(self, ends: list[Point], length: float) -> None:
        self.changed.emit({"scan-check": f"{self._pixels(ends)}={length:.3f}mm"})

    # -- the outline -----------------------------------------------------------------------------------------------

    def _pick_line(self) -> None:
        self.changed.emit({"pen": _PENS[self.line_menu.currentText()], "moved": None})

    def _pick_way(self) -> None:
        self._show_parts()
        if self.way_menu.currentText() == BY_ITSELF:
            self.changed.emit({"follow": None, "points": None, "moved": None})

    def _click_line(self) -> None:
        self.takes_up.emit(PointsTool(["Click a point on the line that is to be followed."], self._take_line))

    def _take_line(self, points: list[Point]) -> None:
        pen = _PENS[self.line_menu.currentText()] or _PENS[PEN_MIDDLE]
        self.changed.emit({"follow": self._pixels(points), "pen": pen, "points": None, "moved": None})

    def _click_another(self) -> None:
        says = ["Click another point on the same line, where it was not followed rightly."]
        self.takes_up.emit(PointsTool(says, self._take_another))

    def _take_another(self, points: list[Point]) -> None:
        before = (self._answers or {}).get("follow", "")
        self.changed.emit({"follow": f"{before} {self._pixels(points)}".strip(), "points": None, "moved": None})

    def _click_points(self) -> None:
        says = (
            "Click points round the piece, one after another; each snaps to the edge beside it.",
            "Click the next point; a point may be dragged, and Undo takes the last one back.",
            "Click the next point; a point may be dragged, and Undo takes the last one back.",
            "Click the next point, or the first one again to close the outline.",
        )
        self.takes_up.emit(PointsTool(says, self._take_points, endless=True, points=self._set_points()))

    def _set_points(self) -> list[Point]:
        """The points that were set already, to be set better."""
        rows = (self._answers or {}).get("points", "").split()
        if not rows or self._picture is None:
            return []
        pixels = np.array([[float(word) for word in row.split(",")] for row in rows])
        return [(x, y) for x, y in self._picture.view.table(pixels).tolist()]

    def _take_points(self, points: list[Point]) -> None:
        self.changed.emit({"points": self._pixels(points, "\n"), "follow": None, "moved": None})

    def _pixels(self, points: Sequence[Point], between: str = " ") -> str:
        """Points of the picture that is shown as pixels of the picture as it was taken."""
        assert self._picture is not None
        return between.join(f"{x:.3f},{y:.3f}" for x, y in self._picture.view.pixels(np.array(points)).tolist())


def _menu(name: str, choices: Sequence[str], does: Callable[[], None]) -> QComboBox:
    menu = QComboBox()
    menu.setAccessibleName(name)
    menu.addItems(list(choices))
    menu.activated.connect(does)
    leave_the_wheel(menu)
    return menu


def _length(field: QLineEdit, between: str) -> float:
    """What was typed, in mm. Raises PatternError for nothing and for what is no length."""
    if not field.text().strip():
        raise PatternError(f"Say first how long it is from {between}.")
    return read_length(field.text()).mm


def _field(name: str, words: str = "") -> QLineEdit:
    field = QLineEdit(words)
    field.setAccessibleName(name)
    return field


def _button(words: str, does: Callable[[], None]) -> QPushButton:
    button = QPushButton(words)
    button.setAutoDefault(False)
    button.clicked.connect(does)
    return button

"""The side of the page of tracing on which the file is always in view: its tabs, the picture, what is done in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QSplitter,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.tracing.placed_marks import KINDS
from app.window.dials import restyle
from app.window.flow import FlowLayout, in_a_row
from app.window.look import em
from app.window.palette import Palette
from app.window.trace_picture import ZOOM_STEP, TracePicture, Under
from app.window.trace_shared import SharedMarks, SharedMarksTool
from app.window.trace_tools import Tool
from geometry.units import System, in_system

#: In the menu of marks, what takes one away.
TAKE_AWAY = "take a mark away"
_JOINS_PICTURES = "Lay this picture and another of the same piece together on marks that both show"
_JOINS_DRAWINGS = "Lay another drawing beside this one, and two parts of a piece together on their match line"
SET_CORNER, TAKE_CORNER = "set a corner", "take a corner away"


class PictureSide(QWidget):
    """``file_picked`` brings the place of the file that is to be shown, ``correcting`` whether handles are wanted,
    ``marking`` the kind of a mark that is to be placed, ``cornering`` whether a corner is to be set or taken away;
    ``joining`` wants two parts to be joined, ``file_joining`` the file that is shown and another one; ``trimming``
    wants the trim frame to be set; ``adding`` wants more files, ``leaving_out`` the one that is shown to be left out,
    ``taking_off`` the one that was joined to it last to be taken off; ``left`` says that nothing is done in the
    picture any more."""

    file_picked = Signal(int)
    correcting = Signal(bool)
    marking = Signal(str)
    cornering = Signal(bool)
    file_joining = Signal(int)
    trimming = Signal()
    adding = Signal()
    leaving_out = Signal()
    taking_off = Signal()
    left = Signal()
    joining = Signal()

    def __init__(self, system: System, palette: Palette) -> None:
        super().__init__()
        self._system = system
        self.picture, self.beside = TracePicture(palette), TracePicture(palette)
        for picture in (self.picture, self.beside):
            picture.tool_left.connect(lambda: self.take_up(None))
        self.source_says = QLabel()
        self.source_says.setProperty("role", "quiet")
        self.source_says.setWordWrap(True)
        self.files_button, files = _with_menu(
            "Files", "Take in another piece or another part of this one, or leave a file out"
        )
        files.addAction("add files…").triggered.connect(lambda: self.adding.emit())
        self.leave_out_act = files.addAction("leave this file out")
        self.leave_out_act.triggered.connect(lambda: self.leaving_out.emit())
        self.take_off_act = files.addAction("take it off again")
        self.take_off_act.triggered.connect(lambda: self.taking_off.emit())
        self.correct_button = QToolButton()
        self.correct_button.setText("Correct the outline")
        self.correct_button.setCheckable(True)
        self.correct_button.setToolTip("Handles on the outline, to be dragged to where the edge is")
        self.correct_button.toggled.connect(self.correcting)
        self.mark_button, marks = _with_menu(
            "Place a mark", "A notch, a dot, the grainline or a line across, by clicks in the picture"
        )
        for kind in KINDS:
            marks.addAction(kind).triggered.connect(lambda _=False, kind=kind: self.marking.emit(kind))
        marks.addSeparator()
        marks.addAction(TAKE_AWAY).triggered.connect(lambda: self.marking.emit(TAKE_AWAY))
        self.corner_button, corners = _with_menu(
            "Corners", "A corner that was missed on the outline, or one that is none, by a click in the picture"
        )
        for words, wanted in ((SET_CORNER, True), (TAKE_CORNER, False)):
            corners.addAction(words).triggered.connect(lambda _=False, wanted=wanted: self.cornering.emit(wanted))
        self.pictures_button, self._pictures_menu = _with_menu("Join pictures", _JOINS_PICTURES)
        self.trim_button = QToolButton()
        self.trim_button.setText("Set the trim frame")
        self.trim_button.setToolTip("Say by two clicks on a page where the pages are trimmed before they are joined")
        self.trim_button.clicked.connect(self.trimming)
        self.join_button = QToolButton()
        self.join_button.setText("Join two parts")
        self.join_button.setToolTip("Lay two parts of one piece together on their match line")
        self.join_button.clicked.connect(self.joining)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, em() // 2, 0)
        column.addLayout(self._top())
        self._both = self._pictures()
        column.addWidget(self._both, 1)
        self._both.installEventFilter(self)
        column.addWidget(self.source_says)
        self._make_bar()

    def _pictures(self) -> QSplitter:
        """The picture, and for a while another beside it, each under its name."""
        self._names = (QLabel(), QLabel())
        self._beside = QWidget()
        both = QSplitter(Qt.Orientation.Horizontal)
        both.setChildrenCollapsible(False)
        for label, picture in zip(self._names, (self.picture, self.beside), strict=True):
            label.setProperty("role", "quiet")
            inside = self._beside if picture is self.beside else QWidget()
            column = QVBoxLayout(inside)
            column.setContentsMargins(0, 0, 0, 0)
            column.addWidget(picture, 1)
            column.addWidget(label)
            both.addWidget(inside)
        self._names[0].hide()
        self._beside.hide()
        return both

    def _top(self) -> FlowLayout:
        """The files' tabs, then what is done in the picture, in one row where there is room for it."""
        row = FlowLayout(gap=em() // 2, line_gap=em() // 3)
        self._tabs = QButtonGroup(self)
        tabs = QWidget()
        self._tab_row = QHBoxLayout(tabs)
        self._tab_row.setContentsMargins(0, 0, em(), 0)
        self._tabs.idClicked.connect(self.file_picked)
        row.add(tabs)
        row.add(self.files_button)
        #: What is done in the picture once there is a piece.
        self.buttons = (self.join_button, self.mark_button, self.corner_button, self.correct_button)
        for button in (self.pictures_button, self.trim_button, *self.buttons):
            button.hide()
            row.add(button)
        looks: tuple[tuple[str, str, Callable[[], None]], ...] = (
            ("−", "Smaller (−)", lambda: self.picture.zoom(1 / ZOOM_STEP)),
            ("+", "Larger (+)", lambda: self.picture.zoom(ZOOM_STEP)),
            ("fit", "See everything (0)", self.picture.fit),
        )
        buttons = []
        for words, tip, does in looks:
            look = QToolButton()
            look.setText(words)
            look.setToolTip(tip)
            look.setAccessibleName(tip)
            look.clicked.connect(does)
            buttons.append(look)
        row.add(in_a_row(*buttons))
        return row

    def _make_bar(self) -> None:
        """What to do now, over the picture, so that nothing moves under the hand when a tool is taken up."""
        self._bar = QFrame(self)
        self._bar.setObjectName("noticeBar")
        self.tool_says = QLabel()
        self.tool_says.setWordWrap(True)
        self.end_button, self.leave_button = QPushButton("Close the outline"), QPushButton("Leave it")
        row = QHBoxLayout(self._bar)
        row.setContentsMargins(em(), 4, em() // 2, 4)
        row.addWidget(self.tool_says, 1)
        for button in (self.end_button, self.leave_button):
            button.setAutoDefault(False)
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        self.end_button.clicked.connect(self._end)
        self.leave_button.clicked.connect(lambda: self.take_up(None))
        self._bar.hide()

    def _place_bar(self) -> None:
        place = self._both.geometry()
        self._bar.setGeometry(place.x(), place.y(), place.width(), self._bar.heightForWidth(place.width()))
        self._bar.raise_()
        for picture in (self.picture, self.beside):
            picture.covered = 0 if self._bar.isHidden() else self._bar.height()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The bar stays over the pictures wherever these come to lie."""
        if event.type() in (QEvent.Type.Resize, QEvent.Type.Move):
            self._place_bar()
        return False

    def show_files(self, names: Mapping[int, str], shown: int) -> None:
        """A tab for each file, by its place, and which of them is in view."""
        if [(self._tabs.id(tab), tab.text()) for tab in self._tabs.buttons()] != list(names.items()):
            for tab in self._tabs.buttons():
                self._tabs.removeButton(tab)
                self._tab_row.removeWidget(tab)
                tab.deleteLater()
            for place, name in names.items():
                tab = _half(name)
                self._tabs.addButton(tab, place)
                self._tab_row.addWidget(tab)
        self._tabs.button(shown).setChecked(True)
        self.leave_out_act.setEnabled(len(names) > 1)

    def offer_files(self, names: Mapping[int, str], *, drawings: bool, joined: str) -> None:
        """The files that may be joined to the one that is shown, by their places; and the drawing that was joined to it
        last, “” for none."""
        self.pictures_button.setText("Join drawings" if drawings else "Join pictures")
        self.pictures_button.setToolTip(_JOINS_DRAWINGS if drawings else _JOINS_PICTURES)
        self.pictures_button.setVisible(bool(names))
        self.take_off_act.setText(f"take {joined} off again" if joined else "take it off again")
        self.take_off_act.setVisible(bool(joined))
        self._pictures_menu.clear()
        for place, name in names.items():
            act = self._pictures_menu.addAction(f"with {name}")
            act.triggered.connect(lambda _=False, place=place: self.file_joining.emit(place))

    def take_up(self, tool: Tool | None) -> None:
        """Let the mouse do something else in the picture than look, with a line that says what; None to look again."""
        self.picture.take_up(tool)
        self._bar.setVisible(tool is not None)
        self._place_bar()
        if self.beside.tool is not None:
            self.beside.take_up(None)
            self._show_beside(None)
        if tool is None:
            self.correct_button.setChecked(False)
            self.left.emit()
        else:
            tool.changed = self._say
            self._say()

    def take_up_both(self, marks: SharedMarks, other: Under) -> None:
        """Let marks be set that the picture and another, laid beside it, both show."""
        self.take_up(SharedMarksTool(marks, 0))
        self.beside.show_found(None, (), other)
        self.beside.take_up(SharedMarksTool(marks, 1))
        self._show_beside(marks.names)
        self.picture.setFocus(Qt.FocusReason.OtherFocusReason)
        marks.changed = self._say
        self._say()
        for picture in (self.picture, self.beside):
            picture.fit()

    def _show_beside(self, names: tuple[str, str] | None) -> None:
        self._names[0].setVisible(names is not None)
        self._beside.setVisible(names is not None)
        for label, name in zip(self._names, names or ("", ""), strict=True):
            label.setText(name)

    def _say(self) -> None:
        tool = self.picture.tool
        if tool is not None:
            self.tool_says.setText(in_system(tool.says, self._system))
            restyle(self._bar, "wrong", tool.is_wrong)
            self.end_button.setText(tool.end_words)
            self.end_button.setVisible(tool.may_end)
            self._place_bar()
        self.picture.update()
        self.beside.update()

    def _end(self) -> None:
        if self.picture.tool is not None:
            self.picture.tool.end()


def _with_menu(words: str, says: str) -> tuple[QToolButton, QMenu]:
    """A button that opens a menu."""
    button = QToolButton()
    button.setText(words)
    button.setToolTip(says)
    button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
    menu = QMenu(button)
    button.setMenu(menu)
    return button, menu


def _half(words: str) -> QToolButton:
    """A button that is in or out, as wide as its words are when it is in."""
    button = QToolButton()
    button.setText(words)
    button.setCheckable(True)
    button.setProperty("role", "half")
    bold = button.font()
    bold.setBold(True)
    button.setMinimumWidth(QFontMetrics(bold).horizontalAdvance(words) + em() * 2)
    return button

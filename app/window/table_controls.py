"""The small controls that lie on the table: how the pieces lie, where they meet, opened out, and the zoom."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QFrame, QHBoxLayout, QMenu, QToolButton, QWidget

from app.window.laying_out import LAID_OVER, SIDE_BY_SIDE
from app.window.palette import Palette


class TableControls(QFrame):
    """Buttons in a row; it holds no state but what its buttons show."""

    arrangement_chosen = Signal(str)
    meeting_chosen = Signal(str)
    size_chosen = Signal(str)
    size_wanted = Signal()
    opened_out = Signal(bool)
    zoom_asked = Signal(float)
    fit_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("tableControls")
        self._arrangement = {name: self._button(name, True) for name in (SIDE_BY_SIDE, LAID_OVER)}
        group = QButtonGroup(self)
        for name, button in self._arrangement.items():
            group.addButton(button)
            button.clicked.connect(lambda _=False, name=name: self.arrangement_chosen.emit(name))
        self._arrangement[SIDE_BY_SIDE].setChecked(True)
        self._meeting = self._menu_button("Where the piece redrawn is laid on the piece as traced")
        self._size = self._menu_button("The size that the garment is worked in; the others are the dashed lines")
        self._opened = self._button("opened out", True, "Show the whole piece, mirrored about its fold")
        self._opened.toggled.connect(self.opened_out)
        self._lay_out()

    def show_state(self, arrangement: str, places: Sequence[str], meeting: str, has_fold: bool, opened: bool) -> None:
        """Put the controls as the table is."""
        self._arrangement[arrangement].setChecked(True)
        self._meeting.setText(f"meet at: {meeting} ▾")
        _offer(self._meeting, places, meeting, self.meeting_chosen.emit)
        self._meeting.setVisible(arrangement == LAID_OVER)
        self._opened.setVisible(has_fold)
        self._opened.setChecked(opened)
        self.adjustSize()

    def show_sizes(self, size: str, names: Sequence[str]) -> None:
        """Show which size is worked in; nothing where there is only one."""
        self._size.setText(f"size: {size} ▾" if len(names) > 1 else "")
        _offer(self._size, names, size, self.size_chosen.emit, ("Which size?…", self.size_wanted.emit))
        self._size.setVisible(len(names) > 1)

    def set_palette(self, palette: Palette) -> None:
        """Colours from the window's palette."""
        self.setStyleSheet(
            f"""
            #tableControls {{ background: {palette.card}; border: 1px solid {palette.hairline}; border-radius: 8px; }}
            QToolButton {{ border: none; border-radius: 5px; padding: 4px 8px; color: {palette.ink};
                           background: transparent; min-height: 18px; min-width: 16px; }}
            QToolButton:hover {{ background: {palette.well}; }}
            QToolButton:checked {{ background: {palette.measured_soft}; color: {palette.measured}; font-weight: 600; }}
            QToolButton:focus {{ border: 1px solid {palette.measured}; padding: 3px 7px; }}
            QToolButton::menu-indicator {{ image: none; }}
            QFrame#rule {{ background: {palette.hairline}; border: none; }}
            """
        )

    def _lay_out(self) -> None:
        row = QHBoxLayout(self)
        row.setContentsMargins(4, 3, 4, 3)
        row.setSpacing(2)
        for button in self._arrangement.values():
            row.addWidget(button)
        row.addWidget(self._size)
        row.addWidget(self._meeting)
        row.addWidget(self._opened)
        row.addWidget(self._rule())
        for words, factor, tip in (("−", 1 / 1.25, "Smaller (−)"), ("+", 1.25, "Larger (+)")):
            button = self._button(words, False, tip)
            button.setAccessibleName(tip)
            button.clicked.connect(lambda _=False, factor=factor: self.zoom_asked.emit(factor))
            row.addWidget(button)
        fit = self._button("fit", False, "See everything (Ctrl+0)")
        fit.clicked.connect(lambda: self.fit_asked.emit())
        row.addWidget(fit)

    def _button(self, words: str, checkable: bool, tip: str = "") -> QToolButton:
        button = QToolButton(self)
        button.setText(words)
        button.setCheckable(checkable)
        button.setToolTip(tip)
        button.setCursor(Qt.CursorShape.PointingHandCursor)
        return button

    def _menu_button(self, tip: str) -> QToolButton:
        button = self._button("", False, tip)
        button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        button.setMenu(QMenu(button))
        return button

    def _rule(self) -> QFrame:
        rule = QFrame(self)
        rule.setObjectName("rule")
        rule.setFixedSize(1, 18)
        return rule


def _offer(
    button: QToolButton,
    names: Sequence[str],
    chosen: str,
    choose: Callable[[str], None],
    beside: tuple[str, Callable[[], None]] | None = None,
) -> None:
    """Names in a button's menu, the chosen one ticked; ``beside`` is something else to do, below them."""
    menu = button.menu()
    if [action.text() for action in menu.actions() if action.isCheckable()] != list(names):
        menu.clear()
        for name in names:
            action = menu.addAction(name)
            action.setCheckable(True)
            action.triggered.connect(lambda _=False, name=name: choose(name))
        if beside is not None:
            menu.addSeparator()
            menu.addAction(beside[0]).triggered.connect(lambda _=False: beside[1]())
    for action in menu.actions():
        action.setChecked(action.isCheckable() and action.text() == chosen)

"""“Does it still sew?”: what walking the seams found, beside the table or, on a small screen, as one line."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.window.flow import clear
from app.window.look import em
from app.window.seams_words import Verdict, summary
from app.window.wrap_button import WrapButton
from geometry.units import System, in_system

HEADING = "Does it still sew?"


class SeamFrame(QFrame):
    """One verdict: its sign, what it is about, what is so, and the button that puts it right."""

    picked = Signal(str)
    offered = Signal(object)
    accepted = Signal(str)

    def __init__(self, verdict: Verdict, system: System) -> None:
        super().__init__()
        self._verdict = verdict
        self.setProperty("role", "seam")
        self.setProperty("wrong", verdict.wrong)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(f"{verdict.sign} {verdict.title}: {verdict.says}")
        if verdict.piece:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
            self.setToolTip("Click to lay this piece on the table")
        sign, title, says = QLabel(verdict.sign), QLabel(verdict.title), QLabel(verdict.says)
        sign.setProperty("role", "warning" if verdict.sign != "✓" else "measured")
        sign.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignHCenter)
        sign.setFixedWidth(em())
        title.setProperty("role", "heading")
        says.setProperty("role", "quiet")
        for label in (title, says):
            label.setWordWrap(True)
        layout = QGridLayout(self)
        layout.setContentsMargins(em() // 2, em() // 3, em() // 2, em() // 3)
        layout.setHorizontalSpacing(em() // 3)
        layout.setVerticalSpacing(2)
        layout.setColumnStretch(1, 1)
        layout.addWidget(sign, 0, 0)
        layout.addWidget(title, 0, 1)
        layout.addWidget(says, 1, 1)
        if verdict.offer is not None:
            button = WrapButton(f"Put right: {in_system(_small(verdict.offer.says), system)}", "remedy")
            button.clicked.connect(lambda: self.offered.emit(verdict.offer))
            layout.addWidget(button, 2, 1)
        if verdict.accept is not None:
            button = WrapButton("Accept it as traced", "accept")
            button.setToolTip("The difference was there before any note; from now on it counts as meant")
            button.clicked.connect(lambda: self.accepted.emit(verdict.accept))
            layout.addWidget(button, 2, 1)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._verdict.piece:
            self.picked.emit(self._verdict.piece)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and self._verdict.piece:
            self.picked.emit(self._verdict.piece)
        else:
            super().keyPressEvent(event)


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


class SeamsPanel(QFrame):
    """The verdicts as a column, what is wrong first seen by its frame and its sign."""

    picked = Signal(str)
    offered = Signal(object)
    accepted = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("seamsPanel")
        self._shown: tuple[tuple[Verdict, ...], System] | None = None
        heading = QLabel(HEADING)
        heading.setProperty("role", "heading")
        self._frames = QVBoxLayout()
        self._frames.setSpacing(em() // 2)
        self._frames.setContentsMargins(0, 0, em() // 2, 0)
        inside = QWidget()
        inside.setLayout(self._frames)
        area = QScrollArea()
        area.setWidget(inside)
        area.setWidgetResizable(True)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em() * 2 // 3, em() // 3, em() // 3)
        layout.setSpacing(em() * 2 // 3)
        layout.addWidget(heading)
        layout.addWidget(area, 1)

    def show_verdicts(self, found: tuple[Verdict, ...], system: System) -> None:
        if self._shown == (found, system):
            return
        self._shown = (found, system)
        had_keyboard = self.isAncestorOf(self.focusWidget()) if self.focusWidget() is not None else False
        clear(self._frames)
        for verdict in found:
            frame = SeamFrame(verdict, system)
            frame.picked.connect(self.picked)
            frame.offered.connect(self.offered)
            frame.accepted.connect(self.accepted)
            self._frames.addWidget(frame)
        self._frames.addStretch(1)
        if had_keyboard:
            self.take_keyboard()

    def take_keyboard(self) -> None:
        """Put the keyboard on the first verdict that is wrong, else on the first."""
        frames = [frame for frame in self.findChildren(SeamFrame) if not frame.isHidden()]
        wrong = [frame for frame in frames if frame.property("wrong")]
        if frames:
            (wrong or frames)[0].setFocus(Qt.FocusReason.ShortcutFocusReason)


class SeamsLine(QFrame):
    """The same in one line, with a button that unfolds the column."""

    unfolded = Signal(bool)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("seamsLine")
        heading = QLabel(HEADING)
        heading.setProperty("role", "heading")
        self._says = QLabel()
        self._says.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._full = ""
        self._button = QPushButton("show all")
        self._button.setCheckable(True)
        self._button.toggled.connect(self._toggle)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(em(), 3, em() // 2, 3)
        layout.setSpacing(em() * 2 // 3)
        layout.addWidget(heading)
        layout.addWidget(self._says, 1)
        layout.addWidget(self._button)

    def show_verdicts(self, found: tuple[Verdict, ...]) -> None:
        self._full = summary(found).replace("\n", " ")
        self._says.setProperty("role", "warning" if any(v.wrong for v in found) else "measured")
        self._says.style().unpolish(self._says)
        self._says.style().polish(self._says)
        self._says.setToolTip(self._full)
        self._elide()

    def is_unfolded(self) -> bool:
        return self._button.isChecked()

    def toggle(self) -> None:
        self._button.toggle()

    def _toggle(self, on: bool) -> None:
        self._button.setText("fold away" if on else "show all")
        self.unfolded.emit(on)

    def _elide(self) -> None:
        room = max(self._says.width(), em() * 10)
        self._says.setText(self._says.fontMetrics().elidedText(self._full, Qt.TextElideMode.ElideRight, room))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._elide()

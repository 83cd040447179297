"""“Does it still sew?”: what walking the seams found, beside the table or, on a small screen, as one line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

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
from app.window.seams_words import CORNER_WORDS, Verdict, is_walked, summary
from app.window.wrap_button import WrapButton

HEADING = "Does it still sew?"


class SeamFrame(QFrame):
    """One verdict: its sign, what it is about, what is so, and the button that puts it right."""

    picked = Signal(str)
    put_right = Signal(str, str)
    accepted = Signal(str)
    said_of_corner = Signal(str, str)

    def __init__(self, verdict: Verdict) -> None:
        super().__init__()
        self.verdict = verdict
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
        layout.setVerticalSpacing(em() // 4)
        layout.setColumnStretch(1, 1)
        layout.addWidget(sign, 0, 0)
        layout.addWidget(title, 0, 1)
        layout.addWidget(says, 1, 1)
        self._remedy, self._stuck = WrapButton("Put right", "remedy"), QLabel()
        self._remedy.setToolTip("Writes the notes that put it right; they are taken back in one step")
        self._remedy.clicked.connect(lambda: self.put_right.emit(verdict.about, verdict.title))
        self._stuck.setWordWrap(True)
        for row, under in enumerate((self._stuck, self._remedy, *self._sayings()), 2):
            layout.addWidget(under, row, 1)
        self.take_answer(verdict)

    def take_answer(self, verdict: Verdict) -> None:
        """Say what puts it right, or that nothing does, as far as it is known."""
        self.verdict = verdict
        self._remedy.say(f"Put right: {verdict.remedy}" if verdict.remedy else "Put right")
        self._remedy.setVisible(bool(verdict.about) and not verdict.stuck)
        self._stuck.setText(verdict.stuck)
        self._stuck.setVisible(bool(verdict.stuck))
        self.updateGeometry()

    def buttons(self) -> list[WrapButton]:
        """What can be done about it, from the top."""
        return [one for one in self.findChildren(WrapButton) if not one.isHidden()]

    def _sayings(self) -> Iterator[WrapButton]:
        """What else may be said of it."""
        verdict = self.verdict
        if verdict.accept is not None:
            button = WrapButton("Accept it as traced", "accept")
            button.setToolTip("The difference was there before any note; from now on it counts as meant")
            button.clicked.connect(lambda: self.accepted.emit(verdict.accept))
            yield button
        for saying in verdict.sayings:
            button = WrapButton(_capital(CORNER_WORDS[saying]), "accept")
            button.clicked.connect(lambda _=False, what=saying: self.said_of_corner.emit(verdict.corner, what))
            yield button

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self.verdict.piece:
            self.picked.emit(self.verdict.piece)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and self.verdict.piece:
            self.picked.emit(self.verdict.piece)
        else:
            super().keyPressEvent(event)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _asked(verdict: Verdict) -> Verdict:
    """The verdict as it was before it was known what puts it right."""
    return replace(verdict, remedy="", stuck="")


class SeamsPanel(QFrame):
    """The verdicts as a column, what is wrong first seen by its frame and its sign."""

    picked = Signal(str)
    put_right = Signal(str, str)
    true_all = Signal()
    accepted = Signal(str)
    said_of_corner = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("seamsPanel")
        self._shown: tuple[Verdict, ...] | None = None
        self._rows: list[SeamFrame] = []
        heading = QLabel(HEADING)
        heading.setProperty("role", "heading")
        self.true_button = QPushButton("True every seam")
        self.true_button.setToolTip("Writes the notes that put everything right that is open here (Ctrl+T)")
        self.true_button.clicked.connect(self.true_all)
        top = QVBoxLayout()
        top.setContentsMargins(0, 0, em() // 2, 0)
        top.setSpacing(em() // 3)
        top.addWidget(heading)
        top.addWidget(self.true_button)
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
        layout.addLayout(top)
        layout.addWidget(area, 1)

    def show_verdicts(self, found: tuple[Verdict, ...]) -> None:
        self.true_button.setEnabled(any(is_walked(verdict.about) for verdict in found))
        shown, self._shown = self._shown, found
        if shown is not None and [_asked(one) for one in shown] == [_asked(one) for one in found]:
            for frame, verdict in zip(self._rows, found, strict=True):
                if frame.verdict != verdict:
                    frame.take_answer(verdict)
            return
        had_keyboard = any(frame.hasFocus() or frame.isAncestorOf(self.focusWidget()) for frame in self._rows)
        clear(self._frames)
        self._rows = []
        for verdict in found:
            frame = SeamFrame(verdict)
            frame.picked.connect(self.picked)
            frame.put_right.connect(self.put_right)
            frame.accepted.connect(self.accepted)
            frame.said_of_corner.connect(self.said_of_corner)
            self._frames.addWidget(frame)
            frame.show()
            self._rows.append(frame)
        self._frames.addStretch(1)
        if had_keyboard:
            self.take_keyboard()

    def take_keyboard(self) -> None:
        """Put the keyboard on the first verdict that is wrong, else on the first."""
        wrong = [frame for frame in self._rows if frame.property("wrong")]
        if self._rows:
            (wrong or self._rows)[0].setFocus(Qt.FocusReason.ShortcutFocusReason)


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

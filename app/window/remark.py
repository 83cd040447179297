"""Her own words on a note: a line under its sentence that opens to be written when it is pressed or asked for."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QPlainTextEdit, QSizePolicy, QVBoxLayout, QWidget

from app.window.look import em
from app.window.wrap_button import WrapButton

_ROWS = 2


class RemarkLine(QWidget):
    """Hidden while there is no remark and none is being written. ``written`` comes with what she wrote."""

    written = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._words = ""
        self._line = WrapButton("", "remark", centred=False)
        self._line.setToolTip("Your own words; press to change them")
        self._line.clicked.connect(self.write)
        self._editor = _Editor()
        self._editor.left.connect(self._leave)
        for widget in (self._line, self._editor):
            widget.hide()
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._line)
        column.addWidget(self._editor)
        self.hide()

    def show_words(self, words: str) -> None:
        """Show the remark of the note; what is being written is left alone."""
        if words != self._words:
            self._words = words
            self._line.say(words)
        if self._editor.isHidden():
            self._show_line()

    def write(self) -> None:
        """Open the line to be written."""
        self._editor.setPlainText(self._words)
        self._line.hide()
        self._editor.show()
        self.show()
        self._editor.selectAll()
        self._editor.setFocus(Qt.FocusReason.OtherFocusReason)

    def _leave(self, taken: bool) -> None:
        if self._editor.isHidden():
            return
        words = self._editor.toPlainText().strip() if taken else self._words
        self._editor.hide()
        changed = words != self._words
        self._words = words
        self._line.say(words)
        self._show_line()
        if changed:
            self.written.emit(words)

    def _show_line(self) -> None:
        self._line.setVisible(bool(self._words))
        self.setVisible(bool(self._words))


class _Editor(QPlainTextEdit):
    """A few lines to write in; Enter takes them, Shift and Enter begins another line, Escape leaves them as they were.

    ``left`` says whether what was written is taken.
    """

    left = Signal(bool)

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("your own words")
        self.setPlaceholderText("your own words")
        self.setTabChangesFocus(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(em() * 12, self.fontMetrics().lineSpacing() * _ROWS + em())

    def minimumSizeHint(self) -> QSize:
        return QSize(em() * 6, self.sizeHint().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        plain = not event.modifiers() & Qt.KeyboardModifier.ShiftModifier
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and plain:
            self.left.emit(True)
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit(False)
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() not in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            self.left.emit(True)

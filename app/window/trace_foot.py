"""The foot of the page of tracing: back and forth, what is being worked out, and how the page is left."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QWidget

from app.tracing.answering import open_questions
from app.window.look import em
from app.window.trace_work import Result


class TraceFoot(QWidget):
    """Its buttons are dim while what they do cannot be done."""

    def __init__(self) -> None:
        super().__init__()
        self.undo, self.redo, self.stop = QPushButton("Undo"), QPushButton("Redo"), QPushButton("stop")
        self.leave, self.confirm = QPushButton("Not now"), QPushButton("All that is right")
        self.take = QPushButton("Take the piece in")
        self.busy_says = QLabel()
        self.take.setProperty("role", "main")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(em() // 2)
        for widget in (self.undo, self.redo, self.busy_says, self.stop):
            row.addWidget(widget)
        row.addStretch(1)
        for widget in (self.leave, self.confirm, self.take):
            row.addWidget(widget)
        for button in self.findChildren(QPushButton):
            button.setAutoDefault(False)

    def say_busy(self, words: str) -> None:
        """What is being worked out, which can be stopped; “” for nothing."""
        self.busy_says.setText(words)
        self.stop.setVisible(bool(words))

    def show_can(self, result: Result | None, *, back: bool, forth: bool) -> None:
        """What may be done with what there is."""
        several = result is not None and len(result.garment.pieces) > 1
        self.take.setText("Take the pieces in" if several else "Take the piece in")
        self.take.setEnabled(result is not None)
        self.confirm.setEnabled(result is not None and open_questions(result.each) > 0)
        self.undo.setEnabled(back)
        self.redo.setEnabled(forth)

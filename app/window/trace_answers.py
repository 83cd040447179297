"""The side of the page of tracing that asks: the garment's name, the picture, every question, and what is missing."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QScrollArea, QVBoxLayout, QWidget

from app.tracing.answering import open_questions
from app.tracing.gathering import nest_findings
from app.tracing.questions import Question
from app.tracing.tracing import Traced
from app.window.look import em
from app.window.trace_photo import PhotoControls
from app.window.trace_questions import QuestionList
from app.window.trace_seams import SeamList
from app.window.trace_words import finding_words, missing_words, open_words
from app.window.trace_work import Result
from geometry.units import System


class AnswerSide(QWidget):
    """Everything that is asked, one under the other, between the garment's name and how many answers stand open."""

    def __init__(self, garment: str) -> None:
        super().__init__()
        self.photo, self.questions, self.seams = PhotoControls(), QuestionList(), SeamList()
        self.name_field = QLineEdit(garment)
        self.name_field.setAccessibleName("What the garment is called")
        self.missing_says, self.found_says, self.open_says = QLabel(), QLabel(), QLabel()
        for label in (self.missing_says, self.found_says, self.open_says):
            label.setWordWrap(True)
        self.setMinimumWidth(em() * 26)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(em() // 2, 0, 0, 0)
        row = QHBoxLayout()
        row.addWidget(QLabel("Garment"))
        row.addWidget(self.name_field, 1)
        whole.addLayout(row)
        self.area = QScrollArea()
        self.area.setWidget(self._asked())
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        whole.addWidget(self.area, 1)
        whole.addWidget(self.open_says)

    def show_result(self, result: Result, traced: Traced, system: System) -> None:
        """Everything that is asked and said about the file that is shown, and about all files together."""
        self.questions.show_traced(traced, system)
        self.open_says.setText(open_words(open_questions(result.each)))
        self.missing_says.setText("\n".join(missing_words(result)))
        found = finding_words(traced, nest_findings(result.each), system)
        self.found_says.setText("\n".join(found or ["✓ Nothing to notice."]))
        self.seams.show_result(result, system)
        self.seams.show()

    def show_refused(self, traced: Traced | None, rescue: Sequence[Question], system: System) -> None:
        """What may be answered so that something can be taken in after all: all about the pieces of the file, or how it
        may still be read."""
        if traced is not None:
            self.questions.show_traced(traced, system)
        else:
            self.questions.show_rescue(rescue, system)
        self.seams.hide()
        self.open_says.setText("! There is no piece yet that can be taken in.")
        self.missing_says.setText("! A piece.")
        self.found_says.setText("~ Nothing yet.")

    def _asked(self) -> QWidget:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 0, 0)
        beside = QHBoxLayout()
        beside.setContentsMargins(0, 0, em() // 2, 0)
        beside.addWidget(self.photo)
        column.addLayout(beside)
        column.addWidget(self.questions)
        for heading, label in (("What is still missing", self.missing_says), ("What was found", self.found_says)):
            title = QLabel(heading)
            title.setProperty("role", "heading")
            column.addWidget(title)
            column.addWidget(label)
        column.addWidget(self.seams)
        column.addStretch(1)
        return inside

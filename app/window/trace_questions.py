"""The questions of one file in order, each with its choices, what was taken, and whether that is confirmed."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.tracing.answering import called_answer, confirming, kinds_answer, piece_of
from app.tracing.laid_over import SeenPiece, laid_over
from app.tracing.questions import Question
from app.tracing.tracing import Traced, TracedPiece
from app.window.look import em
from geometry.pieces import EdgeKind
from geometry.units import System, in_system, tape_words

#: The answer that takes every layer.
_ALL = "all"


class QuestionRow(QFrame):
    """One question. ``answered`` brings its key and the answer; ``pointed`` a piece's id and an edge's place."""

    answered = Signal(str, str)
    pointed = Signal(str, int)

    def __init__(self, number: int, question: Question, system: System) -> None:
        super().__init__()
        self.question, self._system = question, system
        self.setProperty("role", "seam")
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(em() // 2, em() // 3, em() // 2, em() // 3)
        self.column.setSpacing(em() // 4)
        asks = QLabel(f"{number}. {in_system(question.asks, system)}")
        asks.setWordWrap(True)
        self.column.addWidget(asks)
        self.control: QWidget | None = None

    def answer(self, value: str) -> None:
        """Say an answer, unless it is the one that is given already."""
        if value != self.question.given:
            self.answered.emit(self.question.key, value)

    def set_control(self, widget: QWidget) -> None:
        """The field or menu that takes the answer; its name is the question, for those who do not see it."""
        widget.setAccessibleName(self.question.asks)
        self.control = widget

    def add_foot(self, field: QWidget | None, confirmed: str) -> None:
        """The field, and whether its answer is confirmed, with a button for that while it is not."""
        row = QHBoxLayout()
        row.setSpacing(em() // 2)
        if field is not None:
            row.addWidget(field, 1)
        if self.question.by_default:
            button = QPushButton("That is right")
            button.setAutoDefault(False)
            button.clicked.connect(lambda: self.answer(confirmed))
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignRight)
        else:
            sign = QLabel("✓ answered")
            sign.setProperty("role", "measured")
            row.addWidget(sign, 0, Qt.AlignmentFlag.AlignRight)
        self.column.addLayout(row)


def question_row(number: int, question: Question, traced: Traced | None, system: System) -> QuestionRow:
    """The row for a question: choices as a menu, edges one by one, layers to tick, anything else typed."""
    row = QuestionRow(number, question, system)
    confirmed = question.answer if traced is None else confirming(question, traced)
    if traced is not None and question.key.startswith("edges:"):
        _add_edges(row, piece_of(question, traced))
        row.add_foot(None, confirmed)
    elif traced is not None and question.key == "layers":
        _add_layers(row, traced)
        row.add_foot(None, confirmed)
    elif question.choices:
        row.add_foot(_menu(row), confirmed)
    else:
        row.add_foot(_field(row), confirmed)
    return row


def _menu(row: QuestionRow) -> QComboBox:
    menu = QComboBox()
    menu.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    menu.setMinimumContentsLength(10)
    for choice in row.question.choices:
        says = in_system(choice.says, row._system)
        menu.addItem(f"{choice.value}: {says}" if says else choice.value, choice.value)
    menu.setCurrentIndex(max(menu.findData(row.question.answer), 0))
    menu.activated.connect(lambda place: row.answer(str(menu.itemData(place))))
    leave_the_wheel(menu)
    row.set_control(menu)
    return menu


def _field(row: QuestionRow) -> QLineEdit:
    field = QLineEdit(row.question.answer)
    field.setCursorPosition(0)

    def take() -> None:
        if field.isModified() and field.text().strip() and field.text().strip() != row.question.answer:
            field.setModified(False)
            row.answer(field.text().strip())

    field.editingFinished.connect(take)
    row.set_control(field)
    return field


def _add_layers(row: QuestionRow, traced: Traced) -> None:
    """A box to tick for each layer; with all of them ticked, all are taken."""
    layers = traced.layers
    wanted = layers if row.question.answer == _ALL else row.question.answer.split("\n")
    boxes: dict[str, QCheckBox] = {}

    def take() -> None:
        ticked = [layer for layer in layers if boxes[layer].isChecked()]
        row.answer("\n".join(ticked) if 0 < len(ticked) < len(layers) else _ALL)

    for layer in layers:
        box = boxes[layer] = QCheckBox(layer.replace("&", "&&"))
        box.setChecked(layer in wanted)
        box.clicked.connect(take)
        row.column.addWidget(box)
    if boxes:
        row.set_control(next(iter(boxes.values())))


def _add_edges(row: QuestionRow, piece: TracedPiece) -> None:
    """Every edge with its number, its name, what it is and how long it is."""
    grid = QGridLayout()
    grid.setHorizontalSpacing(em() // 2)
    grid.setVerticalSpacing(em() // 4)
    grid.setColumnStretch(1, 1)
    grid.setColumnStretch(2, 1)
    for place, edge in enumerate(laid_over(piece).edges):
        menu = QComboBox()
        menu.setAccessibleName(f"What edge {place + 1} is")
        menu.addItems([kind.value for kind in EdgeKind])
        menu.setCurrentText(piece.kinds[place].value)
        menu.activated.connect(
            lambda _, place=place, menu=menu: row.answer(kinds_answer(piece, place, EdgeKind(menu.currentText())))
        )
        leave_the_wheel(menu)
        watcher = _Pointed(menu, row, piece.piece.id, place)
        menu.installEventFilter(watcher)
        name = _name_field(row, piece, place, edge.name)
        length = QLabel(tape_words(edge.length_mm, row._system))
        length.setProperty("role", "measured")
        grid.addWidget(QLabel(f"{place + 1}"), place, 0)
        grid.addWidget(menu, place, 1)
        grid.addWidget(name, place, 2)
        grid.addWidget(length, place, 3, Qt.AlignmentFlag.AlignRight)
        if place == 0:
            row.set_control(menu)
    row.column.addLayout(grid)


def _name_field(row: QuestionRow, piece: TracedPiece, place: int, name: str) -> QLineEdit:
    """What an edge is called; emptied, it is called after its kind again."""
    field = QLineEdit(name)
    field.setAccessibleName(f"What edge {place + 1} is called")
    field.setToolTip("What you call this edge")
    field.setCursorPosition(0)

    def take() -> None:
        if field.isModified() and field.text().strip() != name:
            field.setModified(False)
            row.answered.emit(f"called:{piece.piece.id}", called_answer(piece, place, field.text()))

    field.editingFinished.connect(take)
    watcher = _Pointed(field, row, piece.piece.id, place)
    field.setProperty("about", None)
    field.installEventFilter(watcher)
    return field


class _Pointed(QObject):
    """Says which edge a menu is about when the mouse or the keyboard comes to it."""

    def __init__(self, menu: QWidget, row: QuestionRow, piece: str, place: int) -> None:
        super().__init__(menu)
        self._row, self._about = row, (piece, place)
        menu.setProperty("about", f"{piece}:{place}")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.Enter, QEvent.Type.FocusIn):
            self._row.pointed.emit(*self._about)
        return False


class _NoWheel(QObject):
    """Scrolling past a menu does not change it."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.Wheel:
            event.ignore()
            return True
        return False


def leave_the_wheel(menu: QComboBox) -> None:
    """Let the wheel scroll past a menu without changing it or taking the keyboard there."""
    menu.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    menu.installEventFilter(_NoWheel(menu))


class QuestionList(QWidget):
    """The questions of one file under headings: the file, then each piece with its size."""

    answered = Signal(str, str)
    pointed = Signal(str, int)

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[QuestionRow] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, em() // 2, 0)
        self._column.setSpacing(em() // 2)

    def show_traced(self, traced: Traced, system: System) -> None:
        """The questions that a traced file leaves, in order."""
        focused = self._focused()
        self._clear()
        if traced.questions:
            self._heading("The file")
        self._add(traced.questions, traced, system)
        for piece in traced.pieces:
            seen = laid_over(piece)
            self._heading(f"{piece.piece.name} · {size_words(seen, system)}")
            self._add(piece.questions, traced, system)
        self._column.addStretch(1)
        self._focus(focused)

    def show_rescue(self, questions: Sequence[Question], system: System) -> None:
        """The questions by which a file may still be traced that was refused."""
        focused = self._focused()
        self._clear()
        self._add(questions, None, system)
        self._column.addStretch(1)
        self._focus(focused)

    def row(self, key: str) -> QuestionRow:
        """The row of a question by its key."""
        return next(row for row in self.rows if row.question.key == key)

    def point_at(self, piece: str, place: int) -> None:
        """Put the keyboard on the menu of an edge."""
        for menu in self.findChildren(QComboBox):
            if menu.property("about") == f"{piece}:{place}":
                menu.setFocus(Qt.FocusReason.OtherFocusReason)

    def _add(self, questions: Sequence[Question], traced: Traced | None, system: System) -> None:
        for question in questions:
            row = question_row(len(self.rows) + 1, question, traced, system)
            row.answered.connect(self.answered)
            row.pointed.connect(self.pointed)
            self.rows.append(row)
            self._column.addWidget(row)

    def _heading(self, words: str) -> None:
        label = QLabel(words)
        label.setProperty("role", "heading")
        label.setWordWrap(True)
        self._column.addWidget(label)

    def _clear(self) -> None:
        held = QApplication.focusWidget()
        if held is not None and self.isAncestorOf(held):
            # A field that goes would hand the keyboard on to the next, and have that scrolled into view.
            self.setFocus(Qt.FocusReason.OtherFocusReason)
        self.rows = []
        while (item := self._column.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                with QSignalBlocker(widget):
                    widget.hide()
                widget.deleteLater()

    def _focused(self) -> str:
        """The key of the question that has the keyboard; with “:place” of an edge behind it."""
        for row in self.rows:
            held = row.focusWidget()
            if held is not None and held.hasFocus():
                return str(held.property("about") or row.question.key)
        return ""

    def _focus(self, key: str) -> None:
        for row in self.rows:
            if row.question.key == key and row.control is not None:
                row.control.setFocus(Qt.FocusReason.OtherFocusReason)
                return
        piece, _, place = key.rpartition(":")
        if place.isdigit():
            self.point_at(piece, int(place))


def size_words(seen: SeenPiece, system: System) -> str:
    """A piece's width and height in her units."""
    wide, high = (tape_words(side, system) for side in seen.size_mm)
    return f"{wide} × {high}"

"""A fitting note as a card that reads like a fitter's sentence with dials in it, made from its alteration alone."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QEvent, QPoint, QSize, Qt, Signal
from PySide6.QtGui import QEnterEvent, QFocusEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.note_options import done_to
from app.window.choosing import BlendSheet, PiecesSheet, SheetDial, pieces_dial_words
from app.window.dials import ChoiceDial, Lengths, NumberDial, Shares, restyle
from app.window.elided import Elided
from app.window.flow import FlowLayout, clear
from app.window.look import em
from app.window.palette import Palette
from app.window.remark import RemarkLine
from app.window.sentence import BLEND, PIECES, blend_words, fields_beside, parts_of, sentence_of
from app.window.switch import Switch
from app.window.thumbnails import Thumbnail
from geometry.alterations import find
from geometry.alterations.base import Alteration, Amount
from geometry.findings import Level
from geometry.nests import size_names
from geometry.notes import Note
from geometry.pieces import Piece
from geometry.stages import Offer, Step
from geometry.units import System, in_system

_DRAG_BEGINS = 12
#: By how many lines of text a card may be wider than its words need.
_SLACK = 4


class Card(QFrame):
    """A card of the strip: it can be pointed at and chosen, and is as wide as its words need for the height."""

    pointed = Signal(str)
    left = Signal()
    chosen = Signal(str)
    stepped = Signal(int)

    def __init__(self, card_id: str) -> None:
        super().__init__()
        self.card_id = card_id
        self.setProperty("role", "card")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.column = QVBoxLayout(self)

    def set_palette(self, palette: Palette) -> None:
        """Take the colours of a palette."""

    def set_chosen(self, chosen: bool) -> None:
        restyle(self, "chosen", chosen)

    def height_at(self, width: int) -> int:
        """How high the card must be to show all its words at a width."""
        return self.column.totalHeightForWidth(width)

    def least_width(self) -> int:
        """The width that the widest thing on the card needs."""
        return self.column.totalMinimumSize().width()

    def fit(self, height: int, least: int, most: int) -> None:
        """Take the height given, and the smallest width at which the words fit it."""
        width = max(least, self.least_width())
        while width < most and self.height_at(width) > height:
            width += 16
        # A card that is only a little too wide keeps its width, or it would jump about while a number is turned.
        if width < self.width() <= width + _SLACK * em():
            width = self.width()
        self.setFixedSize(width, height)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        ways = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        if event.key() in ways:
            self.stepped.emit(ways[Qt.Key(event.key())])
        else:
            super().keyPressEvent(event)

    def enterEvent(self, event: QEnterEvent) -> None:
        self.pointed.emit(self.card_id)
        super().enterEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        self.left.emit()
        super().leaveEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if event.reason() not in (Qt.FocusReason.ActiveWindowFocusReason, Qt.FocusReason.PopupFocusReason):
            self.chosen.emit(self.card_id)


class NoteCard(Card):
    """One note. It asks for another note in its place (``changed``) and shows what became of it (``show_step``)."""

    changed = Signal(object, bool)
    settled = Signal()
    moved = Signal(str, int)
    dragged = Signal(str, QPoint, bool)
    removed = Signal(str)
    offered = Signal(object)
    spot_wanted = Signal(str, str)

    def __init__(self, note: Note, palette: Palette) -> None:
        super().__init__(note.id)
        self.alteration: Alteration = find(note.alteration)
        self._note = note
        self._step: Step | None = None
        self._system: System = "cm"
        self._pressed: QPoint | None = None
        self._place = 0
        self._dials: dict[str, NumberDial | ChoiceDial] = {}
        self._offers: tuple[tuple[str, Offer], ...] = ()
        self._build(palette)

    def least_width(self) -> int:
        for widget in self.findChildren(QWidget):
            widget.ensurePolished()
        self._text.invalidate()
        return max(self._text.totalMinimumSize().width() + self._beside(), super().least_width())

    def _beside(self) -> int:
        """What the frame, the small drawing and a scroll bar take of the width."""
        margins = self.column.contentsMargins()
        return margins.left() + margins.right() + self._thumbnail.width() + em() // 4 + 8

    def height_at(self, width: int) -> int:
        margins = self.column.contentsMargins()
        inner = width - self._beside()
        head = self._head_row.sizeHint().height() + self.column.spacing()
        return margins.top() + margins.bottom() + head + self._text.totalHeightForWidth(inner) + 4

    def set_chosen(self, chosen: bool) -> None:
        super().set_chosen(chosen)
        restyle(self._number, "role", "heading" if chosen else "quiet")
        self._say_number()

    def _say_number(self) -> None:
        """“note 2”, with a pointer before it while it is chosen."""
        self._number.setText(f"{'▸ ' if self.property('chosen') else ''}note {self._place}")

    @property
    def note(self) -> Note:
        return self._note

    def dial(self, name: str) -> NumberDial | ChoiceDial:
        """The dial of an amount."""
        return self._dials[name]

    def _build(self, palette: Palette) -> None:
        self._number = QLabel()
        self._number.setProperty("role", "quiet")
        self._state = QLabel()
        self._state.setProperty("role", "warning")
        self._pieces = SheetDial("done to", self._pieces_sheet)
        self._blend = SheetDial("blended", self._blend_sheet)
        self._sentence = QWidget()
        self._fill_sentence(FlowLayout(self._sentence, em() // 3, em() // 4))
        self.remark = RemarkLine()
        self.remark.written.connect(lambda words: self._change(replace(self._note, remark=words)))
        self._why = Elided("quiet")
        self._readings, self._findings = _wrapped("measured"), _wrapped("warning")
        self._offer_row = FlowLayout(None, em() // 2, em() // 4)
        self._thumbnail = Thumbnail(palette)
        self._thumbnail.setFixedSize(QSize(em() * 3, em() * 4))
        text = QVBoxLayout()
        text.setContentsMargins(0, 0, 0, 0)
        text.setSpacing(em() // 4)
        for widget in (self._sentence, self.remark, self._readings, self._findings):
            text.addWidget(widget)
        text.addLayout(self._offer_row)
        text.addStretch(1)
        inside = QWidget()
        inside.setLayout(text)
        self._text = text
        self._area = QScrollArea()
        self._area.setWidget(inside)
        self._area.setWidgetResizable(True)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._area.setMinimumSize(QSize(em() * 6, em() * 2))
        middle = QHBoxLayout()
        middle.setSpacing(em() // 4)
        middle.addWidget(self._area, 1)
        middle.addWidget(self._thumbnail, 0, Qt.AlignmentFlag.AlignBottom)
        self.column.setContentsMargins(em() * 2 // 3, em() // 3, em() // 2, em() // 4)
        self.column.setSpacing(em() // 4)
        self._head_row = self._head()
        self.column.addLayout(self._head_row)
        self.column.addLayout(middle, 1)

    def _head(self) -> QHBoxLayout:
        self._switch = Switch("on", "off")
        self._switch.setToolTip("Switch this note off or on")
        self._switch.toggled.connect(lambda on: self._change(replace(self._note, on=on)))
        self._earlier = _plain("‹", "Do this note earlier", lambda: self.moved.emit(self.card_id, -1))
        self._later = _plain("›", "Do this note later", lambda: self.moved.emit(self.card_id, 1))
        away = _plain("✕", "Take this note away", lambda: self.removed.emit(self.card_id))
        head = QHBoxLayout()
        head.setSpacing(em() // 4)
        head.addWidget(self._number)
        head.addWidget(self._state)
        head.addWidget(self._why, 1)
        for widget in (self._switch, self._earlier, self._later, away):
            head.addWidget(widget)
        return head

    def _fill_sentence(self, flow: FlowLayout) -> None:
        fields = self.alteration.fields()
        for at, part in enumerate(parts_of(self.alteration)):
            if part.field == PIECES:
                flow.add(self._pieces)
            elif part.field == BLEND:
                flow.add(self._blend)
            elif part.field:
                dial = self._make_dial(part.field, fields[part.field])
                if at == 0 and isinstance(dial, ChoiceDial):
                    dial.set_capital()
                flow.add(dial)
            else:
                self._add_words(flow, part.words)
        for name in fields_beside(self.alteration):
            self._add_words(flow, f"; {fields[name].label}")
            flow.add(self._make_dial(name, fields[name]))

    @staticmethod
    def _add_words(flow: FlowLayout, words: str) -> None:
        for word in words.split():
            flow.add(QLabel(word), tight=word[0] in ",;:.")

    def _make_dial(self, name: str, field: Amount) -> NumberDial | ChoiceDial:
        value = getattr(self._note.amounts, name)
        if field.choices:
            choice = ChoiceDial(field.label, field.choices, str(value))
            choice.chosen.connect(lambda word: self._set_amount(name, word, stroke=False))
            self._dials[name] = choice
            return choice
        scale = Shares() if field.unit == "share" else Lengths(self._system)
        dial = NumberDial(field.label, scale, field.least, field.most, float(value))
        dial.dialled.connect(lambda new: self._set_amount(name, new, stroke=True))
        dial.settled.connect(self.settled)
        if field.basis:
            dial.setToolTip(f"{dial.toolTip()}\n{field.basis}")
        self._dials[name] = dial
        return dial

    def _pieces_sheet(self) -> QWidget:
        assert self._step is not None
        sheet = PiecesSheet(self._step.before, self._note, self.alteration, self._system)
        sheet.chosen.connect(lambda targets: self._change(replace(self._note, targets=targets)))
        sheet.spot_wanted.connect(lambda piece: self.spot_wanted.emit(self.card_id, piece))
        return sheet

    def _blend_sheet(self) -> QWidget:
        sheet = BlendSheet(self._note.blend, self._system)
        sheet.chosen.connect(lambda blend: self._change(replace(self._note, blend=blend)))
        return sheet

    def open_pieces(self) -> None:
        """Open the sheet on which the pieces are ticked."""
        self._pieces.open_sheet()

    def show_step(
        self, step: Step, number: int, count: int, system: System, piece_id: str, stops: Sequence[str] = ()
    ) -> None:
        """Show a note and what became of it as the ``number``-th of ``count``; its blends end at ``stops``."""
        self._note, self._step = step.note, step
        self._place = number
        self._say_number()
        self._earlier.setEnabled(number > 1)
        self._later.setEnabled(number < count)
        if system != self._system:
            self._system = system
            for dial in self._dials.values():
                if isinstance(dial, NumberDial) and self.alteration.fields()[self._name_of(dial)].unit == "mm":
                    dial.set_scale(Lengths(system))
        for name, dial in self._dials.items():
            if isinstance(dial, ChoiceDial) and self.alteration.fields()[name].unit == "size":
                dial.set_choices((*self.alteration.fields()[name].choices, *size_names(step.before)))
            dial.set_value(getattr(step.note.amounts, name))
        self._pieces.set_words(pieces_dial_words(step.before, step.note, self.alteration))
        self._blend.set_words(blend_words(step.note.blend, system, stops))
        self.remark.show_words(step.note.remark)
        self._say_state(step)
        why, says = done_to(step.before, step.note, step.after)
        self._why.set_words(why, "\n".join(f"{one[:1].upper()}{one[1:]}." for one in says))
        self._say_results(step, system)
        self._show_small(step, piece_id)
        said = sentence_of(step.note, self.alteration, step.before, system)
        self.setAccessibleName(f"note {number}: {said}")
        said_below = (self._state.text(), step.note.remark, self._readings.text(), self._findings.text())
        self.setAccessibleDescription(" ".join(said_below))

    def _name_of(self, dial: NumberDial | ChoiceDial) -> str:
        return next(name for name, one in self._dials.items() if one is dial)

    def _say_state(self, step: Step) -> None:
        self._switch.set_quietly(step.note.on)
        failed = step.note.on and not step.done
        self._state.setText("! not done" if failed else ("" if step.note.on else "switched off"))
        restyle(self._state, "role", "warning" if failed else "quiet")
        restyle(self, "off", not step.note.on)
        restyle(self, "wrong", failed)

    def _say_results(self, step: Step, system: System) -> None:
        _say(self._readings, "\n".join(in_system(line, system) for line in step.readings))
        _say(self._findings, "\n".join(in_system(line, system) for line in _finding_lines(step)))
        offers = tuple((in_system(offer.says, system), offer) for offer in step.offers)
        if offers == self._offers:
            return
        self._offers = offers
        clear(self._offer_row)
        for says, offer in offers:
            button = QPushButton(says)
            button.setProperty("role", "offer")
            button.clicked.connect(lambda _=False, offer=offer: self.offered.emit(offer))
            self._offer_row.add(button)

    def _show_small(self, step: Step, piece_id: str) -> None:
        mine = [target.piece for target in step.note.targets]
        shown = piece_id if piece_id in mine or not mine else mine[0]
        now, was = _piece(step, shown)
        self._thumbnail.show_piece(now, was)

    def set_palette(self, palette: Palette) -> None:
        self._thumbnail.set_palette(palette)

    def _set_amount(self, name: str, value: Any, *, stroke: bool) -> None:
        self._change(replace(self._note, amounts=replace(self._note.amounts, **{name: value})), stroke=stroke)

    def _change(self, note: Note, *, stroke: bool = False) -> None:
        if note != self._note:
            self._note = note
            self.changed.emit(note, stroke)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Space:
            self._switch.click()
        elif event.key() == Qt.Key.Key_Delete:
            self.removed.emit(self.card_id)
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed = event.globalPosition().toPoint()
        self.setFocus(Qt.FocusReason.MouseFocusReason)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        at = event.globalPosition().toPoint()
        if self._pressed is not None and abs(at.x() - self._pressed.x()) > _DRAG_BEGINS:
            self.setCursor(Qt.CursorShape.ClosedHandCursor)
            self.dragged.emit(self.card_id, at, False)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        at = event.globalPosition().toPoint()
        if self._pressed is not None and abs(at.x() - self._pressed.x()) > _DRAG_BEGINS:
            self.dragged.emit(self.card_id, at, True)
        self._pressed = None
        self.unsetCursor()


def _piece(step: Step, piece_id: str) -> tuple[Piece | None, Piece | None]:
    for piece in step.after.pieces:
        if piece.id == piece_id:
            return piece, step.before.piece(piece_id)
    return None, None


def _finding_lines(step: Step) -> list[str]:
    """The findings of a note; one that holds for several pieces is said once, with their names."""
    pieces: dict[tuple[str, str], list[str]] = {}
    names = {piece.id: piece.name for piece in step.before.pieces}
    for finding in step.findings:
        found = pieces.setdefault(("~" if finding.level is Level.NOTICE else "!", finding.says), [])
        if finding.piece in names and names[finding.piece] not in found:
            found.append(names[finding.piece])
    several = len(step.note.targets) > 1
    return [
        f"{sign} {', '.join(found)}: {says}" if several and found and not any(f"“{name}”" in says for name in found)
        else f"{sign} {says}"
        for (sign, says), found in pieces.items()
    ]


def _wrapped(role: str) -> QLabel:
    label = QLabel()
    label.setProperty("role", role)
    label.setWordWrap(True)
    label.hide()
    return label


def _say(label: QLabel, text: str) -> None:
    label.setText(text)
    label.setVisible(bool(text))


def _plain(sign: str, says: str, act: Callable[[], None]) -> QToolButton:
    button = QToolButton()
    button.setText(sign)
    button.setToolTip(says)
    button.setAccessibleName(says)
    button.setProperty("role", "plain")
    button.clicked.connect(act)
    return button

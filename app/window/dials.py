"""The numbers in a sentence: typed, turned with the wheel or the arrow keys, or dragged.

While one is typed, what was understood stands beside it; a sentence says what is wrong with it.
"""

from __future__ import annotations

import math
from typing import Protocol

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetrics, QKeyEvent, QKeySequence, QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QMenu, QPushButton, QWidget

from app.window.look import em
from app.window.sentence import share_words
from geometry.errors import PatternError
from geometry.units import System, read_length, tape_words

_CLIPBOARD = (
    QKeySequence.StandardKey.Copy,
    QKeySequence.StandardKey.Cut,
    QKeySequence.StandardKey.Paste,
    QKeySequence.StandardKey.SelectAll,
)
_STEP_PIXELS = 6
_DRAG_BEGINS = 5


class Scale(Protocol):
    """What a dial counts in."""

    def say(self, value: float) -> str: ...

    def read(self, text: str) -> float: ...

    def understood(self, value: float) -> str: ...

    def step(self, fine: bool) -> float: ...


class Lengths:
    """Lengths in mm, written in the tape measure in hand: steps of 1 mm or 1/8 in, fine ones of 0.5 mm or 1/16 in."""

    def __init__(self, system: System) -> None:
        self.system = system

    def say(self, value: float) -> str:
        return tape_words(value, self.system)

    def read(self, text: str) -> float:
        return read_length(text, self.system).mm

    def understood(self, value: float) -> str:
        other: System = "in" if self.system != "in" else "mm"
        return f"{tape_words(value, self.system)} (that is {tape_words(value, other)})"

    def step(self, fine: bool) -> float:
        coarse = 3.175 if self.system == "in" else 1.0
        return coarse / 2 if fine else coarse


class Shares:
    """Parts of a whole from 0 to 1, written as per cent: steps of 5, fine ones of 1."""

    def say(self, value: float) -> str:
        return share_words(value)

    def read(self, text: str) -> float:
        plain = text.strip().replace(",", ".")
        percent = plain.endswith("%")
        try:
            value = float(plain.rstrip("% "))
        except ValueError:
            raise PatternError(f"“{text.strip()}” is no part of a whole; write one such as 50 %.") from None
        if not math.isfinite(value):
            raise PatternError(f"“{text.strip()}” is no part of a whole; write one such as 50 %.")
        return value / 100 if percent or value > 1 else value

    def understood(self, value: float) -> str:
        return f"{share_words(value)} of the way"

    def step(self, fine: bool) -> float:
        return 0.01 if fine else 0.05


class NumberDial(QLineEdit):
    """A number to dial. ``dialled`` comes with every step, ``settled`` when a run of steps or a typing is over."""

    dialled = Signal(float)
    settled = Signal()

    def __init__(self, label: str, scale: Scale, least: float, most: float, value: float) -> None:
        super().__init__()
        self._scale, self._least, self._most, self._value = scale, least, most, value
        self._widest = 0
        self._pressed_at: QPoint | None = None
        self._turned_from: float | None = None
        self._understood = Understood(self)
        self.setProperty("role", "dial")
        self.setAccessibleName(label)
        ways = "type it, or turn it with ↑ ↓, the wheel or by dragging\n(Shift: ten steps, Alt: half a step)"
        self.setToolTip(f"{label}: {ways}")
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.textEdited.connect(self._say_understood)
        self.returnPressed.connect(self._take_typed)
        self._show()

    @property
    def value(self) -> float:
        return self._value

    def set_value(self, value: float) -> None:
        """Show a value without telling anyone; what is being typed is left alone."""
        if value != self._value:
            self._value = value
            if not (self.hasFocus() and self.isModified()):
                self._show()

    def set_scale(self, scale: Scale) -> None:
        self._scale = scale
        self._show()

    def turn(self, steps: float, fine: bool = False) -> None:
        """Dial by a number of steps, along whole steps of the scale."""
        self.dial_to(self._value + steps * self._scale.step(fine), fine)

    def dial_to(self, value: float, fine: bool = False) -> None:
        """Dial to the whole step nearest a value, held within the limits."""
        step = self._scale.step(fine)
        self._take(min(max(round(value / step) * step, self._least), self._most))

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if event.reason() is not Qt.FocusReason.MouseFocusReason:
            self.selectAll()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        if self.isModified():
            self._take_typed()
        self._understood.hide()
        self.setModified(False)
        self._show()
        super().focusOutEvent(event)
        self.settled.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        many = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
        fine = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        ways = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1, Qt.Key.Key_PageUp: 10, Qt.Key.Key_PageDown: -10}
        if event.key() in ways:
            self.turn(ways[Qt.Key(event.key())] * many, fine)
        elif event.key() == Qt.Key.Key_Escape and self.isModified():
            self.setModified(False)
            self._understood.hide()
            self._show()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.isModified():
            # It takes what was typed, and is not the dialog's: nothing is printed or saved by it.
            super().keyPressEvent(event)
            event.accept()
        else:
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if not self.hasFocus():
            event.ignore()
            return
        fine = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        delta = event.angleDelta().y() or event.angleDelta().x()
        self.turn(math.copysign(max(1, abs(delta) // 120), delta), fine)
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed_at, self._turned_from = event.position().toPoint(), None
        super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._pressed_at is None or not event.buttons() & Qt.MouseButton.LeftButton or self.isModified():
            super().mouseMoveEvent(event)
            return
        moved = event.position().toPoint() - self._pressed_at
        if self._turned_from is None and abs(moved.x()) + abs(moved.y()) < _DRAG_BEGINS:
            return
        if self._turned_from is None:
            self._turned_from = self._value
        fine = bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        steps = (moved.x() - moved.y()) / _STEP_PIXELS
        self.dial_to(self._turned_from + round(steps) * self._scale.step(fine), fine)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        if self._turned_from is not None:
            self.settled.emit()
        elif self._pressed_at is not None and not self.hasSelectedText():
            self.selectAll()
        self._pressed_at = self._turned_from = None

    def event(self, event: QEvent) -> bool:
        """Leave the window's own keys to the window unless something is being typed."""
        if event.type() is QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent) and not self.isModified():
            own = any(event.matches(keys) for keys in _CLIPBOARD)
            if not own and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                event.ignore()
                return False
        return super().event(event)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit()

    def _take(self, value: float) -> None:
        self.setModified(False)
        changed = value != self._value
        self._value = value
        self._show()
        self._understood.hide()
        if changed:
            self.dialled.emit(value)

    def _take_typed(self) -> None:
        if not self.isModified():
            return
        try:
            value = self._read(self.text())
        except PatternError as error:
            self._understood.say(error.says, wrong=True)
            return
        self._take(value)
        self.settled.emit()
        self.selectAll()

    def _read(self, text: str) -> float:
        value = self._scale.read(text)
        if not self._least - 1e-9 <= value <= self._most + 1e-9:
            least, most = self._scale.say(self._least), self._scale.say(self._most)
            raise PatternError(f"It goes from {least} to {most}; {self._scale.say(value)} does not fit.")
        return value

    def _say_understood(self, text: str) -> None:
        self._fit()
        try:
            self._understood.say(self._scale.understood(self._read(text)), wrong=False)
        except PatternError as error:
            self._understood.say(error.says, wrong=True)

    def _show(self) -> None:
        self.setText(self._scale.say(self._value))
        self.setCursorPosition(0)
        self._fit()

    def _fit(self) -> None:
        bold = self.font()
        bold.setBold(True)
        width = QFontMetrics(bold).horizontalAdvance(self.text() or "0") + em(self) * 3 // 2
        # While it has the keyboard it does not shrink, or what stands after it would jump about.
        self._widest = max(width, em(self) * 3, self._widest if self.hasFocus() else 0)
        self.setFixedWidth(self._widest)
        if (parent := self.parentWidget()) is not None and (layout := parent.layout()) is not None:
            layout.invalidate()


class Understood(QLabel):
    """What was understood as typed, shown just above a dial."""

    def __init__(self, dial: QWidget) -> None:
        super().__init__()
        self._dial = dial
        self.setObjectName("understood")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setWordWrap(True)

    def say(self, text: str, *, wrong: bool) -> None:
        window = self._dial.window()
        self.setParent(window)
        self.setText(("✕ " if wrong else "= ") + text)
        self._dial.setProperty("wrong", wrong)
        self.setProperty("wrong", wrong)
        for widget in (self, self._dial):
            widget.style().unpolish(widget)
            widget.style().polish(widget)
        room = QFontMetrics(self.font()).horizontalAdvance(self.text()) + em() * 2
        self.setFixedWidth(min(room, em() * 24))
        self.adjustSize()
        at = self._dial.mapTo(window, QPoint(0, -self.height() - 4))
        x = min(max(at.x(), 4), window.width() - self.width() - 4)
        self.move(x, at.y() if at.y() > 0 else at.y() + self.height() + self._dial.height() + 8)
        self.show()
        self.raise_()

    def hide(self) -> None:
        if self._dial.property("wrong"):
            self._dial.setProperty("wrong", False)
            self._dial.style().unpolish(self._dial)
            self._dial.style().polish(self._dial)
        super().hide()


class ChoiceDial(QPushButton):
    """One of several words: a menu, or turned with the arrow keys."""

    chosen = Signal(str)

    def __init__(self, label: str, choices: tuple[str, ...], value: str) -> None:
        super().__init__()
        self._choices, self._value, self._label = choices, value, label
        self.setProperty("role", "dial")
        self.setToolTip(f"{label}: choose one, or turn it with ↑ ↓")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        menu = QMenu(self)
        menu.aboutToShow.connect(self._tick)
        self.setMenu(menu)
        self._fill_menu()
        self._capital = False
        self.set_value(value)

    def set_choices(self, choices: tuple[str, ...]) -> None:
        """Offer other words."""
        if choices != self._choices:
            self._choices = choices
            self._fill_menu()

    def _fill_menu(self) -> None:
        self.menu().clear()
        for word in self._choices:
            action = self.menu().addAction(word)
            action.setCheckable(True)
            action.triggered.connect(lambda _=False, word=word: self._take(word))

    @property
    def value(self) -> str:
        return self._value

    def set_capital(self) -> None:
        """Show the word with a capital, at the start of a sentence."""
        self._capital = True
        self.set_value(self._value)

    def set_value(self, value: str) -> None:
        self._value = value
        shown = value[:1].upper() + value[1:] if self._capital else value
        self.setText(shown + " ▾")
        self.setAccessibleName(f"{self._label}: {value}")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        ways = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}
        if event.key() in ways and self._value in self._choices:
            at = self._choices.index(self._value) + ways[Qt.Key(event.key())]
            if 0 <= at < len(self._choices):
                self._take(self._choices[at])
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.showMenu()
        else:
            super().keyPressEvent(event)

    def _take(self, word: str) -> None:
        if word != self._value:
            self.set_value(word)
            self.chosen.emit(word)

    def _tick(self) -> None:
        for action in self.menu().actions():
            action.setChecked(action.text() == self._value)


def restyle(widget: QWidget, name: str, value: object) -> None:
    """Set a property that the style sheet asks for, and have the widget look at it."""
    if widget.property(name) != value:
        widget.setProperty(name, value)
        widget.style().unpolish(widget)
        widget.style().polish(widget)



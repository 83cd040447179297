"""Dials: what is typed is understood or refused in a sentence, never taken for something else."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QLocale, QPoint, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QPushButton, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from app.window.dials import ChoiceDial, Lengths, NumberDial, Shares
from geometry.errors import PatternError


def dial_in(qtbot: QtBot, scale: Lengths | Shares, value: float = 25.0, most: float = 300.0) -> NumberDial:
    holder = QWidget()
    dial = NumberDial("amount", scale, 0.0, most, value)
    QVBoxLayout(holder).addWidget(dial)
    holder.resize(600, 300)
    # The test keeps the dial alone; without this its holder would go, and take it along.
    dial.holder = holder
    qtbot.addWidget(holder)
    holder.show()
    dial.setFocus(Qt.FocusReason.TabFocusReason)
    return dial


def typed(dial: NumberDial, text: str) -> str:
    """Type over the number; returns what stands beside it."""
    dial.selectAll()
    for sign in text:
        QApplication.sendEvent(dial, QKeyEvent(QEvent.Type.KeyPress, 0, Qt.KeyboardModifier.NoModifier, sign))
    label = dial.window().findChild(QLabel, "understood")
    return label.text() if label is not None and not label.isHidden() else ""


@pytest.mark.parametrize(
    ("text", "mm"),
    [("12.5", 125.0), ("12,5", 125.0), ("1 1/2 in", 38.1), ("5/8", 15.875), ("1⅝ in", 41.275), ("30 mm", 30.0)],
)
def test_lengths_are_taken_as_people_write_them(qtbot: QtBot, text: str, mm: float) -> None:
    # An inch is 25.4 mm; a bare fraction is inches, a bare decimal the tape measure in hand (cm here).
    dial = dial_in(qtbot, Lengths("cm"))
    assert typed(dial, text).startswith("= ")
    QTest.keyClick(dial, Qt.Key.Key_Return)
    assert dial.value == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize(("text", "value"), [("8 mm", 8.0), ("40 cm", 25.0)])
def test_return_takes_what_was_typed_and_does_not_press_the_dialogs_button(
    qtbot: QtBot, text: str, value: float
) -> None:
    """Nothing is saved or printed because a length was typed; what is refused stays to be put right."""
    dialog, presses = QDialog(), list[bool]()
    dial, button = NumberDial("margin", Lengths("cm"), 0.0, 300.0, 25.0), QPushButton("Save")
    layout = QVBoxLayout(dialog)
    layout.addWidget(dial)
    layout.addWidget(button)
    button.setDefault(True)
    button.clicked.connect(lambda: presses.append(True))
    qtbot.addWidget(dialog)
    dialog.show()
    dial.setFocus(Qt.FocusReason.TabFocusReason)
    typed(dial, text)
    QTest.keyClick(dial, Qt.Key.Key_Return)
    assert (dial.value, presses) == (value, [])
    if dial.isModified():
        QTest.keyClick(dial, Qt.Key.Key_Escape)
    QTest.keyClick(dial, Qt.Key.Key_Return)
    assert presses == [True], "with nothing typed the key is the dialog's"


def test_a_german_keyboard_types_the_same_length(qtbot: QtBot) -> None:
    before = QLocale()
    QLocale.setDefault(QLocale(QLocale.Language.German))
    try:
        dial = dial_in(qtbot, Lengths("cm"))
        typed(dial, "12.5 mm")
        QTest.keyClick(dial, Qt.Key.Key_Return)
        assert dial.value == 12.5
    finally:
        QLocale.setDefault(before)


def test_what_was_understood_is_said_in_both_measures(qtbot: QtBot) -> None:
    dial = dial_in(qtbot, Lengths("cm"))
    assert typed(dial, "1 in") == "= 2.54 cm (that is 1 in)"


@pytest.mark.parametrize(
    ("text", "says"), [("12,345", "two ways"), ("far", "not a length"), ("40 cm", "It goes from 0 mm to 30 cm")]
)
def test_what_is_no_length_is_refused_in_a_sentence(qtbot: QtBot, text: str, says: str) -> None:
    dial = dial_in(qtbot, Lengths("cm"))
    told: list[float] = []
    dial.dialled.connect(told.append)
    assert says in typed(dial, text)
    QTest.keyClick(dial, Qt.Key.Key_Return)
    assert (dial.value, told) == (25.0, [])
    QTest.keyClick(dial, Qt.Key.Key_Escape)
    assert dial.text() == "2.5 cm"


def test_arrows_step_by_a_millimetre_or_an_eighth(qtbot: QtBot) -> None:
    dial = dial_in(qtbot, Lengths("cm"))
    QTest.keyClick(dial, Qt.Key.Key_Up)
    assert dial.value == 26.0
    QTest.keyClick(dial, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert dial.value == 16.0
    QTest.keyClick(dial, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    assert dial.value == 16.5
    dial.set_scale(Lengths("in"))
    QTest.keyClick(dial, Qt.Key.Key_Up)
    # 16.5 mm is 5.2 eighths of an inch; one step up and onto the eighth is 6/8 in = 19.05 mm.
    assert dial.value == pytest.approx(19.05)


def test_steps_stop_at_the_limits(qtbot: QtBot) -> None:
    dial = dial_in(qtbot, Lengths("cm"), value=2.0, most=5.0)
    dial.turn(10)
    assert dial.value == 5.0
    dial.turn(-10)
    assert dial.value == 0.0


def turn_wheel(dial: NumberDial) -> None:
    event = QWheelEvent(
        QPointF(5, 5), QPointF(dial.mapToGlobal(QPoint(5, 5))), QPoint(), QPoint(0, 120),
        Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(dial, event)


def test_the_wheel_turns_only_what_has_the_keyboard(qtbot: QtBot) -> None:
    dial = dial_in(qtbot, Lengths("cm"))
    qtbot.waitUntil(dial.hasFocus)
    turn_wheel(dial)
    assert dial.value == 26.0
    dial.clearFocus()
    turn_wheel(dial)
    assert dial.value == 26.0


def test_a_drag_across_turns_it(qtbot: QtBot) -> None:
    dial = dial_in(qtbot, Lengths("cm"))
    settled: list[bool] = []
    dial.settled.connect(lambda: settled.append(True))
    QTest.mousePress(dial, Qt.MouseButton.LeftButton, pos=QPoint(10, 10))
    for x in (20, 30, 40):
        move_to(dial, QPoint(x, 10))
    QTest.mouseRelease(dial, Qt.MouseButton.LeftButton, pos=QPoint(40, 10))
    assert dial.value == 30.0
    assert settled == [True]


def move_to(dial: NumberDial, at: QPoint) -> None:
    event = QMouseEvent(
        QEvent.Type.MouseMove, QPointF(at), QPointF(dial.mapToGlobal(at)),
        Qt.MouseButton.NoButton, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier,
    )  # fmt: skip
    QApplication.sendEvent(dial, event)


@pytest.mark.parametrize(("text", "value"), [("50 %", 0.5), ("50", 0.5), ("0.5", 0.5), ("0,25", 0.25), ("100", 1.0)])
def test_parts_of_a_whole_are_read(text: str, value: float) -> None:
    assert Shares().read(text) == pytest.approx(value)


@pytest.mark.parametrize("text", ["half", "nan", "1e999", ""])
def test_what_is_no_part_of_a_whole_is_refused(text: str) -> None:
    with pytest.raises(PatternError, match="no part of a whole"):
        Shares().read(text)


def test_a_word_is_turned_with_the_arrows(qtbot: QtBot) -> None:
    dial = ChoiceDial("way", ("shorten", "lengthen"), "shorten")
    qtbot.addWidget(dial)
    told: list[str] = []
    dial.chosen.connect(told.append)
    dial.set_capital()
    assert dial.text().startswith("Shorten")
    QTest.keyClick(dial, Qt.Key.Key_Down)
    QTest.keyClick(dial, Qt.Key.Key_Down)
    assert told == ["lengthen"]
    assert "lengthen" in dial.accessibleName()

"""One line above the table for what she should know now: what went wrong, what was saved, what may be recovered."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QToolButton

from app.window.dials import restyle
from app.window.look import em

Button = tuple[str, Callable[[], None]]


class NoticeBar(QFrame):
    """Hidden until something is said; a sign tells a refusal from good news."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("noticeBar")
        self._sign, self._says = QLabel(), QLabel()
        self._sign.setProperty("role", "heading")
        self._says.setWordWrap(True)
        self._buttons: list[QPushButton] = []
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(em(), 4, em() // 2, 4)
        self._row.setSpacing(em() // 2)
        self._row.addWidget(self._sign)
        self._row.addWidget(self._says, 1)
        away = QToolButton()
        away.setText("✕")
        away.setToolTip("Put this line away")
        away.setAccessibleName("Put this line away")
        away.setProperty("role", "plain")
        away.clicked.connect(self.hide)
        self._row.addWidget(away)
        self.hide()

    def say(self, words: str, *, wrong: bool = False, buttons: Sequence[Button] = ()) -> None:
        """Say it until it is put away or something else is said; a button puts it away and acts."""
        self._sign.setText("!" if wrong else "✓")
        restyle(self._sign, "role", "warning" if wrong else "measured")
        restyle(self, "wrong", wrong)
        self._says.setText(words)
        self.setAccessibleName(words)
        for button in self._buttons:
            self._row.removeWidget(button)
            button.deleteLater()
        self._buttons = [self._button(text, act) for text, act in buttons]
        self.show()

    def words(self) -> str:
        """What is being said, "" when nothing is."""
        return "" if self.isHidden() else self._says.text()

    def buttons(self) -> list[QPushButton]:
        return list(self._buttons)

    def _button(self, text: str, act: Callable[[], None]) -> QPushButton:
        button = QPushButton(text)

        def press() -> None:
            self.hide()
            act()

        button.clicked.connect(press)
        self._row.insertWidget(self._row.count() - 1, button)
        return button

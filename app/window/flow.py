"""Widgets beside each other: in one row, or like words in a sentence, along the line and on to the next."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QHBoxLayout, QLayout, QLayoutItem, QWidget


def clear(layout: QLayout) -> None:
    """Take every widget out of a layout for good."""
    while (item := layout.takeAt(0)) is not None:
        if (widget := item.widget()) is not None:
            widget.hide()
            widget.deleteLater()


def _was_hidden(widget: QWidget) -> bool:
    """Whether a widget was hidden on purpose; a new one that was not yet shown was not."""
    return widget.isHidden() and widget.testAttribute(Qt.WidgetAttribute.WA_WState_ExplicitShowHide)


class FlowLayout(QLayout):
    """Widgets from left to right, wrapped at the width; a ``tight`` one stands close to the one before it."""

    def __init__(self, parent: QWidget | None = None, gap: int = 6, line_gap: int = 6) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._tight: set[int] = set()
        self._gap, self._line_gap = gap, line_gap
        self.setContentsMargins(0, 0, 0, 0)

    def add(self, widget: QWidget, tight: bool = False) -> None:
        if tight:
            self._tight.add(len(self._items))
        self.addWidget(widget)

    def addItem(self, item: QLayoutItem) -> None:
        self._items.append(item)

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._arrange(QRect(0, 0, width, 0), move=False)

    def setGeometry(self, rect: QRect) -> None:
        super().setGeometry(rect)
        self._arrange(rect, move=True)

    def sizeHint(self) -> QSize:
        return self.minimumSize()

    def minimumSize(self) -> QSize:
        widest = max((item.sizeHint().width() for item in self._items), default=0)
        highest = max((item.sizeHint().height() for item in self._items), default=0)
        return QSize(widest, highest)

    def _arrange(self, rect: QRect, *, move: bool) -> int:
        """Place every item; returns the height used."""
        x, y = rect.x(), rect.y()
        row: list[tuple[QLayoutItem, int, QSize]] = []
        for index, item in enumerate(self._items):
            widget = item.widget()
            if widget is not None and _was_hidden(widget):
                continue
            size = item.sizeHint()
            size.setWidth(min(size.width(), max(rect.width(), 1)))
            gap = 0 if not row else (1 if index in self._tight else self._gap)
            if row and x + gap + size.width() > rect.right() + 1 and index not in self._tight:
                y += self._finish(row, y, move) + self._line_gap
                x, row, gap = rect.x(), [], 0
            row.append((item, x + gap, size))
            x += gap + size.width()
        return y + self._finish(row, y, move) - rect.y()

    @staticmethod
    def _finish(row: list[tuple[QLayoutItem, int, QSize]], y: int, move: bool) -> int:
        height = max((size.height() for _, _, size in row), default=0)
        for item, x, size in row:
            if move:
                item.setGeometry(QRect(QPoint(x, y + (height - size.height()) // 2), size))
        return height


def in_a_row(*widgets: QWidget) -> QWidget:
    """Widgets beside each other, from the left, without a frame."""
    row = QWidget()
    layout = QHBoxLayout(row)
    layout.setContentsMargins(0, 0, 0, 0)
    for widget in widgets:
        layout.addWidget(widget)
    layout.addStretch(1)
    return row

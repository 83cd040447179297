"""A page to be read: what stands on it scrolls, and Done puts it away."""

from __future__ import annotations

from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from app.window.look import em


def scrolled(rows: QVBoxLayout, wide: int, high: int) -> QScrollArea:
    """Rows that scroll, at least so many lines of text wide and high."""
    rows.addStretch(1)
    inside = QWidget()
    inside.setLayout(rows)
    area = QScrollArea()
    area.setWidget(inside)
    area.setWidgetResizable(True)
    area.setMinimumSize(em() * wide, em() * high)
    return area


def done_foot(dialog: QDialog) -> QHBoxLayout:
    """The last row of a dialog that only shows: Done, at the right."""
    done = QPushButton("Done")
    done.setProperty("role", "main")
    done.clicked.connect(dialog.accept)
    row = QHBoxLayout()
    row.addStretch(1)
    row.addWidget(done)
    return row


def show_page(parent: QWidget, title: str, *parts: QWidget) -> None:
    """Show parts one below the other until Done is pressed; the last takes what room there is."""
    dialog = QDialog(parent)
    dialog.setWindowTitle(title)
    layout = QVBoxLayout(dialog)
    layout.setContentsMargins(em(), em(), em(), em())
    layout.setSpacing(em())
    for part in parts:
        layout.addWidget(part, 1 if part is parts[-1] else 0)
    layout.addLayout(done_foot(dialog))
    dialog.exec()

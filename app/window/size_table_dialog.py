"""The table of sizes: what body each size of the garment is for, written, or taken over from another garment."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.size_table_rows import row_of, sizes_of, table_from, with_table
from app.window.look import em
from app.window.page import scrolled
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.size_tables import LEVELS_OF_BODY, SizeTable
from geometry.units import System

_HINT = "Girths of the body, as ISO 8559-1 takes them. Leave empty what is not said."


class SizeTableDialog(QDialog):
    """Cells to write in. ``taken`` is the garment with the table as she wants it, None when she leaves it as it is."""

    def __init__(self, parent: QWidget | None, garment: Garment, system: System, folder: str, files: str) -> None:
        """``folder`` and ``files`` are where another garment is looked for, and the filter of its name."""
        super().__init__(parent)
        self.setWindowTitle("Table of sizes")
        self.taken: Garment | None = None
        self._garment, self._system, self._folder, self._files = garment, system, folder, files
        self._shown: SizeTable | None = garment.size_table
        self._cells: dict[str, tuple[QLineEdit, ...]] = {}
        self.source = QLineEdit()
        self.source.setPlaceholderText("where the numbers are from")
        self._warns = QLabel()
        self._warns.setProperty("role", "warning")
        self._warns.setWordWrap(True)
        self._rows = QVBoxLayout()
        self._grid = QGridLayout()
        self._lay_out()
        self._show_table()

    def cell(self, size: str, level: str) -> QLineEdit:
        """Where a girth of a size is written."""
        return self._cells[size][LEVELS_OF_BODY.index(level)]

    def says(self) -> str:
        """What is wrong, "" where nothing is."""
        return "" if self._warns.isHidden() else self._warns.text()

    def take_over(self, path: Path) -> None:
        """Show the table of another garment, to be taken or changed; her own stays where that cannot be read."""
        from app.files.garment_file import open_file

        try:
            other = open_file(path)[0].garment
            if other.size_table is None:
                raise PatternError(f"“{other.name}” has no table of sizes; choose another garment.")
        except PatternError as error:
            self._warn(error.says)
            return
        self._warn("")
        self._shown = other.size_table
        self._show_table()

    def take(self) -> None:
        """Take the table as it is written, or say what is wrong with it."""
        rows = {size: tuple(cell.text() for cell in cells) for size, cells in self._cells.items()}
        try:
            table = table_from(self._shown, self.source.text(), rows, self._system)
        except PatternError as error:
            self._warn(error.says)
            return
        if table != self._garment.size_table:
            self.taken = with_table(self._garment, table)
        self.accept()

    def _lay_out(self) -> None:
        hint = QLabel(_HINT)
        hint.setProperty("role", "quiet")
        hint.setWordWrap(True)
        above = QHBoxLayout()
        above.addWidget(QLabel("its source"))
        above.addWidget(self.source, 1)
        self._grid.setHorizontalSpacing(em())
        self._grid.setVerticalSpacing(em() // 3)
        self._rows.addLayout(self._grid)
        other, leave, take = QPushButton("As in another garment…"), QPushButton("Not now"), QPushButton("Take it")
        take.setProperty("role", "main")
        foot = QHBoxLayout()
        for button, act in ((other, self._ask_for_other), (leave, self.reject), (take, self.take)):
            button.setAutoDefault(False)
            button.clicked.connect(act)
            foot.addWidget(button)
        foot.insertStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em())
        layout.addWidget(hint)
        layout.addLayout(above)
        layout.addWidget(scrolled(self._rows, 34, 15), 1)
        layout.addWidget(self._warns)
        layout.addLayout(foot)
        self._warns.hide()

    def _show_table(self) -> None:
        while (item := self._grid.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        self._cells = {}
        self.source.setText(self._shown.source if self._shown is not None else "")
        for column, level in enumerate(LEVELS_OF_BODY, 1):
            heading = QLabel(level)
            heading.setProperty("role", "heading")
            self._grid.addWidget(heading, 0, column)
        for row, size in enumerate(sizes_of(self._garment, self._shown), 1):
            name = QLabel(f"size {size}")
            self._grid.addWidget(name, row, 0, Qt.AlignmentFlag.AlignVCenter)
            texts = row_of(self._shown, size, self._system)
            self._cells[size] = tuple(QLineEdit(text) for text in texts)
            for column, cell in enumerate(self._cells[size], 1):
                cell.setPlaceholderText("not said")
                cell.setAccessibleName(f"{LEVELS_OF_BODY[column - 1]} of size {size}")
                self._grid.addWidget(cell, row, column)

    def _ask_for_other(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self, "As in another garment", self._folder, self._files)
        if name:
            self.take_over(Path(name))

    def _warn(self, words: str) -> None:
        self._warns.setText(f"! {words}" if words else "")
        self._warns.setVisible(bool(words))

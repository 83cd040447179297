"""Exporting: the redrawn pieces as a drawing, for a cutter, a plotter, a large printer or a drawing program."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFileDialog,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.window.before_saving import lacking_label
from app.window.dials import Lengths, NumberDial
from app.window.file_names import named
from app.window.flow import in_a_row
from app.window.look import em
from geometry.errors import PatternError
from geometry.pipeline import Draft
from geometry.rolls import LARGE, LONGEST_MM, ROLLS
from geometry.units import System

SVG, DXF_2000, DXF_12, HPGL, PDF = range(5)
_KINDS = (
    (".svg", "SVG", "for drawing programs and some cutters: mm, true curves, layers by kind of line"),
    (".dxf", "DXF, R2000", "for cutters: mm, a block for each piece, outlines closed, no line twice"),
    (".dxf", "DXF, R12", "the same for old machines; it cannot say its units, which are mm"),
    (".plt", "HP-GL", "for plotters: pens by the line table, dashes drawn as dashes, lettering as outlines"),
    (".pdf", "PDF", "for a large printer or a copy shop: rolls and large sheets at true size"),
)
_BESIDE, _ROLL, _SHEET = "side by side", "on a roll", "on large sheets"
_OWN_WIDTH = "its own width"
_LEAST_ROLL_MM = 120.0


class ExportDialog(QDialog):
    """Which kind of drawing, how the pieces are laid, and what the machine wants; the words of the command line."""

    def __init__(self, parent: QWidget, draft: Draft, units: System = "cm") -> None:
        super().__init__(parent)
        self.setWindowTitle("Export a drawing")
        self._lines = ""
        self._kinds = [QRadioButton(words) for _, words, _ in _KINDS]
        self._laid = _box((_BESIDE, _ROLL, _SHEET))
        self._rolls = _box((*(f"{width} mm" for width in ROLLS), _OWN_WIDTH))
        self._width = NumberDial("width of the roll", Lengths(units), _LEAST_ROLL_MM, LONGEST_MM, 1118.0)
        self._sheets = QComboBox()
        for name in LARGE:
            self._sheets.addItem(LARGE[name].name, name)
        self._opened = QCheckBox("halves on the fold opened out")
        self._before = QCheckBox("with the outline as traced under it")
        self._machine = QCheckBox("for a cutter: no line twice, hairlines, colours by the line table")
        self._every = QCheckBox("every line whole, also where two run together")
        self._outlines = QCheckBox("lettering as outlines")
        self._square = QCheckBox("with a test square of 100 mm")
        self._layers = _box(("by name", "by the trade's numbers"))
        self._curves = _box(("flattened", "true curves"))
        self._flat = NumberDial("how far from a curve its lines may lie", Lengths("mm"), 0.01, 1.0, 0.01)
        self._curve_row = in_a_row(self._curves, self._flat)
        self._origin = _box(("lower left", "middle"))
        self._table = QLabel("as it comes")
        self._advice = QLabel()
        self._advice.setWordWrap(True)
        self._advice.setProperty("role", "quiet")
        self._save = QPushButton("Save the drawing…")
        self._lay_out(draft)
        for button in self._kinds:
            button.toggled.connect(lambda _: self._show_what_counts())
        for box in (self._laid, self._rolls, self._layers, self._curves):
            box.currentIndexChanged.connect(lambda _: self._show_what_counts())
        self._kinds[SVG].setChecked(True)

    def choose(self, index: int) -> None:
        self._kinds[index].setChecked(True)

    def ending(self) -> str:
        return _KINDS[self._chosen()][0]

    def filter(self) -> str:
        return f"{self.ending()[1:].upper()} (*{self.ending()})"

    def numbers_sheets(self) -> bool:
        """True where each sheet that the pieces take is a file of its own."""
        return self._chosen() != PDF and self._laid.currentText() != _BESIDE

    def options(self) -> list[str]:
        """What the command line is told."""
        kind, told = self._chosen(), list(self._where())
        if kind in (DXF_2000, DXF_12):
            told += ["--dxf-version", "R12" if kind == DXF_12 else "R2000"]
            told += ["--layers", "numbers" if self._layers.currentIndex() else "names"]
            told += ["--curves"] if self._true_curves() else [f"--flatten={self._flat.value!r}mm"]
        if kind == HPGL:
            told += ["--origin", "middle" if self._origin.currentIndex() else "lower-left"]
        ticks = (
            (self._before, "--before"), (self._machine, "--machine"), (self._every, "--every-line"),
            (self._outlines, "--outlines"), (self._square, "--square"),
        )
        told += [option for tick, option in ticks if tick.isVisibleTo(self) and tick.isChecked()]
        return [*told, f"--lines={self._lines}"] if self._lines and kind != PDF else told

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Return in a dial takes what was typed; it does not save yet."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and isinstance(self.focusWidget(), NumberDial):
            return
        super().keyPressEvent(event)

    def _where(self) -> list[str]:
        """How the pieces are laid, for the command line."""
        laid = self._laid.currentText()
        if laid == _BESIDE:
            return []
        opened = ["--opened"] if self._opened.isChecked() else []
        if laid == _SHEET:
            return ["--sheet", str(self._sheets.currentData()), *opened]
        own = self._rolls.currentText() == _OWN_WIDTH
        wide = self._width.value if own else float(self._rolls.currentText().split()[0])
        return [f"--roll={wide!r}mm", *opened]

    def _lay_out(self, draft: Draft) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em() // 4)
        kinds = QGridLayout()
        kinds.setHorizontalSpacing(em())
        kinds.setVerticalSpacing(0)
        kinds.setColumnStretch(1, 1)
        for row, (button, (_, _, says)) in enumerate(zip(self._kinds, _KINDS, strict=True)):
            note = QLabel(says)
            note.setProperty("role", "quiet")
            kinds.addWidget(button, row, 0)
            kinds.addWidget(note, row, 1)
        layout.addLayout(kinds)
        self._form = QFormLayout()
        self._form.setHorizontalSpacing(em())
        self._form.setVerticalSpacing(em() // 4)
        self._form.addRow("the pieces lie", in_a_row(self._laid, self._rolls, self._width, self._sheets))
        self._form.addRow("", self._opened)
        self._form.addRow("layers", self._layers)
        self._form.addRow("curves", self._curve_row)
        self._form.addRow("the plotter's 0,0", self._origin)
        for tick in (self._before, self._machine, self._every, self._outlines, self._square):
            self._form.addRow("", tick)
        choose, write = QPushButton("Choose one…"), QPushButton("Write one to change…")
        choose.clicked.connect(self._choose_table)
        write.clicked.connect(self._write_table)
        self._tables = in_a_row(self._table, choose, write)
        self._form.addRow("line table", self._tables)
        layout.addSpacing(em() // 2)
        layout.addLayout(self._form)
        layout.addWidget(self._advice)
        layout.addWidget(lacking_label(draft))
        layout.addStretch(1)
        self._save.setProperty("role", "main")
        self._save.setDefault(True)
        self._save.clicked.connect(self.accept)
        leave = QPushButton("Not now")
        leave.clicked.connect(self.reject)
        for quiet in (choose, write, leave):
            quiet.setAutoDefault(False)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(leave)
        buttons.addWidget(self._save)
        layout.addLayout(buttons)
        self._advice.setMinimumHeight(self._advice.fontMetrics().lineSpacing() * 3)
        self.setMinimumSize(em() * 46, em() * 37)

    def _show_what_counts(self) -> None:
        """Show what the chosen kind of drawing asks, and nothing else."""
        kind = self._chosen()
        dxf, pdf = kind in (DXF_2000, DXF_12), kind == PDF
        if pdf and self._laid.currentText() == _BESIDE:
            self._laid.setCurrentText(_ROLL)
        self._curves.setEnabled(kind != DXF_12)
        roll, sheet = (self._laid.currentText() == words for words in (_ROLL, _SHEET))
        self._rolls.setVisible(roll)
        self._width.setVisible(roll and self._rolls.currentText() == _OWN_WIDTH)
        self._sheets.setVisible(sheet)
        rows = {
            self._opened: roll or sheet, self._layers: dxf, self._curve_row: dxf,
            self._origin: kind == HPGL, self._before: kind == SVG and not (roll or sheet), self._machine: kind == SVG,
            self._every: dxf, self._outlines: kind not in (HPGL, PDF), self._square: True, self._tables: not pdf,
        }
        for widget, shown in rows.items():
            self._form.setRowVisible(widget, shown)
        self._flat.setVisible(not self._true_curves())
        self._advice.setText("\n".join(self._advises()))

    def _advises(self) -> list[str]:
        kind = self._chosen()
        found = []
        if kind in (DXF_2000, DXF_12) and self._layers.currentIndex():
            found.append("The numbers of the trade's exchange (ASTM D6673) are from memory: try one piece first.")
        if self._laid.currentText() != _BESIDE:
            found.append("This lays the pieces on paper, as short as their shapes allow; it says nothing about cloth.")
        if kind not in (SVG, PDF):
            found.append("Keep fingers and sleeves clear of a moving head, and watch the first cut to its end.")
        return found

    def _true_curves(self) -> bool:
        return self._curves.currentIndex() == 1 and self._chosen() == DXF_2000

    def _choose_table(self) -> None:
        from app.files.line_table import read_table

        name, _ = QFileDialog.getOpenFileName(self, "Choose a line table", "", "Line tables (*.json)")
        if not name:
            return
        try:
            read_table(name)
        except PatternError as error:
            self._advice.setText(f"! {error.says}")
            return
        self._lines = name
        self._table.setText(Path(name).name)

    def _write_table(self) -> None:
        from app.files.line_table import table_bytes
        from app.files.safely import write_bytes

        name, _ = QFileDialog.getSaveFileName(self, "Write a line table", "line-table.json", "Line tables (*.json)")
        path = named(self, name, ".json")
        if path is None:
            return
        try:
            write_bytes(path, table_bytes())
        except PatternError as error:
            self._advice.setText(f"! {error.says}")
            return
        self._advice.setText(f"Written as {path}. Change it with any text editor, then choose it here.")

    def _chosen(self) -> int:
        return next((at for at, button in enumerate(self._kinds) if button.isChecked()), SVG)


def _box(words: tuple[str, ...]) -> QComboBox:
    box = QComboBox()
    box.addItems(words)
    return box

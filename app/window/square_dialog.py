"""What does the test square measure? The test page printed alone, its readings taken, what they mean, what is kept."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFileDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.square_reading import Reading
from app.window.asked import Asked
from app.window.dials import Lengths, NumberDial
from app.window.file_names import named
from app.window.look import em
from app.window.preferences import PAPERS
from app.window.printer_box import PrinterBox, Printers
from geometry import papers
from geometry.errors import PatternError
from geometry.papers import Paper
from geometry.print_scale import NONE, Correction

#: What may be measured, and what it should measure (mm).
SQUARES = {"the square of 100 mm": 100.0, "the square of 4 in": 101.6}
_LEAST_MM, _MOST_MM = 70.0, 130.0
_MOST_TRAYS = 3


class SquareDialog(QDialog):
    """Print, measure, read what it means; a correction is kept for a printer only where nothing else explains it."""

    def __init__(self, parent: QWidget | None, paper: str, folder: str = "") -> None:
        super().__init__(parent)
        self.setWindowTitle("What does the test square measure?")
        self._folder = folder
        self._papers = QComboBox()
        for name, words in PAPERS.items():
            self._papers.addItem(words, name)
        self._papers.setCurrentIndex(max(0, self._papers.findData(paper)))
        self.printers = PrinterBox(files=False)
        self._print, self._save = QPushButton("Print the test page"), QPushButton("Save it as a PDF…")
        self._sent = _words("quiet")
        self._squares = QComboBox()
        for words, of_mm in SQUARES.items():
            self._squares.addItem(words, of_mm)
        self.across = NumberDial("across", Lengths("mm"), _LEAST_MM, _MOST_MM, 100.0)
        self.down = NumberDial("down", Lengths("mm"), _LEAST_MM, _MOST_MM, 100.0)
        self._says, self._kept = _words(), _words("measured")
        self._trays = [QRadioButton() for _ in range(_MOST_TRAYS)]
        self._name = QLineEdit()
        self._name.setPlaceholderText("a name for the printer")
        self._name.setAccessibleName("a name for the printer")
        self._name.setMinimumWidth(em() * 14)
        self._keep, self._forget = QPushButton("Keep the correction"), QPushButton("Forget the correction")
        self._sending = Asked(self)
        self._lay_out()
        self._connect()
        self._another_printer()
        self._read()

    def reading(self) -> Reading:
        """What she measured, as it is dialled now."""
        ticked = next((button for button in self._trays if button.isVisibleTo(self) and button.isChecked()), None)
        loaded = next((one for one in papers.PAPERS.values() if ticked and one.name == ticked.text()), None)
        return Reading(self.paper(), self.across.value, self.down.value, float(self._squares.currentData()), loaded)

    def paper(self) -> Paper:
        return papers.PAPERS[str(self._papers.currentData())]

    def words(self) -> str:
        """What the readings mean, as it is shown."""
        return self._says.text()

    # -- its parts ---------------------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em() // 2)
        layout.addWidget(_heading("1  Print the test page alone"))
        form = _form()
        form.addRow("on paper", self._papers)
        form.addRow("printer", self.printers)
        layout.addLayout(form)
        layout.addLayout(_row(self._print, self._save))
        layout.addWidget(self._sent)
        layout.addWidget(_heading("2  Measure one of its squares"))
        form = _form()
        form.addRow("what was measured", self._squares)
        form.addRow("across the page", self.across)
        form.addRow("down the page", self.down)
        layout.addLayout(form)
        layout.addWidget(_heading("3  What that means"))
        layout.addWidget(self._says)
        layout.addLayout(_row(*self._trays))
        layout.addWidget(self._kept)
        layout.addLayout(_row(self._name, self._keep, self._forget))
        layout.addStretch(1)
        close = QPushButton("Done")
        close.setProperty("role", "main")
        close.clicked.connect(self.accept)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(close)
        layout.addLayout(foot)
        for button in (self._print, self._save, self._keep, self._forget, close):
            button.setAutoDefault(False)
        line = self.fontMetrics().lineSpacing()
        self._sent.setMinimumHeight(line * 2)
        self._says.setMinimumHeight(line * 8)
        self._kept.setMinimumHeight(line * 2)
        self.setMinimumWidth(em() * 36)
        self.resize(em() * 36, em() * 44)

    def _connect(self) -> None:
        self._papers.currentIndexChanged.connect(lambda _: self.read_afresh())
        self._squares.currentIndexChanged.connect(lambda _: self._another_square())
        for dial in (self.across, self.down):
            dial.dialled.connect(lambda _: self.read_afresh())
        for tray in self._trays:
            tray.toggled.connect(lambda _: self._read())
        self.printers.changed.connect(self._another_printer)
        self._print.clicked.connect(self._print_page)
        self._save.clicked.connect(self._save_page)
        self._keep.clicked.connect(self._keep_correction)
        self._forget.clicked.connect(self._forget_correction)
        self._name.textChanged.connect(lambda _: self._read())
        self._sending.answered.connect(lambda called: self._tell_sent(str(called)))
        self._sending.refused.connect(lambda says: self._tell_refused(str(says)))

    # -- the page ----------------------------------------------------------------------------------------------------

    def _print_page(self) -> None:
        from app import queues
        from app.files.test_page import test_page_pdf

        name, paper = self.printers.chosen().name, self.paper()
        self._print.setEnabled(False)
        self._sent.setText("Sending the test page…")
        self._sending.start(lambda: queues.send(test_page_pdf(paper, name), name, paper, "Test page"))

    def _tell_sent(self, called: str) -> None:
        self._print.setEnabled(True)
        self._sent.setText(f"Sent to {self.printers.chosen().name} on {called}, not scaled.")

    def _tell_refused(self, says: str) -> None:
        self._print.setEnabled(True)
        self._sent.setText(f"! {says}")

    def _save_page(self) -> None:
        from app.files.safely import write_bytes
        from app.files.test_page import test_page_pdf

        proposed = str(Path(self._folder) / f"test-page-{self._papers.currentData()}.pdf")
        name, _ = QFileDialog.getSaveFileName(self, "Save the test page", proposed, "PDF (*.pdf)")
        path = named(self, name, ".pdf")
        if path is None:
            return
        try:
            write_bytes(path, test_page_pdf(self.paper()))
        except PatternError as error:
            self._sent.setText(f"! {error.says}")
            return
        self._sent.setText(f"Saved as {path}. Print it at 100 %, never fitted to the page.")

    # -- what it means -----------------------------------------------------------------------------------------------

    def _another_square(self) -> None:
        for dial in (self.across, self.down):
            dial.set_value(float(self._squares.currentData()))
        self.read_afresh()

    def read_afresh(self) -> None:
        """Readings or paper are others, so which paper is in the tray is asked anew."""
        for tray in self._trays:
            tray.setAutoExclusive(False)
            tray.blockSignals(True)
            tray.setChecked(False)
            tray.blockSignals(False)
            tray.setAutoExclusive(True)
            tray.hide()
        self._read()

    def _read(self) -> None:
        reading = self.reading()
        self._says.setText("\n".join(reading.says()))
        if not any(tray.isChecked() for tray in self._trays):
            for tray, paper in zip(self._trays, (*reading.trays, *[None] * _MOST_TRAYS), strict=False):
                tray.setVisible(paper is not None)
                tray.setText(paper.name if paper is not None else "")
        self._offer()

    def _offer(self) -> None:
        """What can be kept: a correction that is none of a setting's doing, for a printer that is named."""
        off = not self.reading().is_true and self._correction() is not None
        name = self._printer()
        self._name.setVisible(off and not self.printers.chosen().name)
        self._keep.setVisible(off)
        self._keep.setEnabled(bool(name))
        self._keep.setText(f"Keep the correction for {short(name)}" if name else "Keep the correction")
        kept = self.printers.correction()
        self._forget.setVisible(kept != NONE)
        self._kept.setText(f"Kept for {short(name)}: {kept.says}. Every page that is printed on it says so." * (
            kept != NONE
        ))
        self._kept.setVisible(kept != NONE)

    def _correction(self) -> Correction | None:
        try:
            return self.reading().correction()
        except PatternError:
            return None

    def _printer(self) -> str:
        return self.printers.chosen().name or self._name.text().strip()

    def _keep_correction(self) -> None:
        found = self._correction()
        if found is not None:
            self._keep_as(found)

    def _forget_correction(self) -> None:
        self._keep_as(NONE)

    def _keep_as(self, correction: Correction) -> None:
        from app import printers

        try:
            printers.keep(self._printer(), correction)
            known = printers.corrections()
        except PatternError as error:
            self._kept.setText(f"! {error.says}")
            self._kept.setVisible(True)
            return
        before = self.printers.known or Printers()
        self.printers.take(Printers(before.queues, known, before.why))
        if not self.printers.chosen().name:
            says = f"{correction.says}. “{short(self._printer())}” stands among the PDF files when pages are printed"
            self._kept.setText(f"Kept for {short(self._printer())}: {says}.")
            self._kept.setVisible(True)

    def _another_printer(self) -> None:
        there = bool(self.printers.chosen().name)
        self._print.setEnabled(there)
        self._print.setProperty("role", "main" if there else "")
        self._offer()


def _words(role: str = "") -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    label.setAlignment(Qt.AlignmentFlag.AlignTop)
    if role:
        label.setProperty("role", role)
    return label


def _heading(words: str) -> QLabel:
    label = QLabel(words)
    label.setProperty("role", "heading")
    return label


def _form() -> QFormLayout:
    form = QFormLayout()
    form.setHorizontalSpacing(em())
    form.setVerticalSpacing(em() // 3)
    return form


def _row(*widgets: QWidget) -> QHBoxLayout:
    row = QHBoxLayout()
    for widget in widgets:
        row.addWidget(widget)
    row.addStretch(1)
    return row


def short(name: str) -> str:
    """A printer's name as there is room for."""
    return name if len(name) <= 24 else f"{name[:22]}…"

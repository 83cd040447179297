"""The left side of the printing page: paper, how its pages lie and join, and what is printed on them."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.print_choice import WAYS, PrintChoice, Way
from app.window.dials import Lengths, NumberDial
from app.window.flow import in_a_row
from app.window.preferences import OWN_SIZE, PAPERS, Preferences
from geometry import papers
from geometry.papers import Paper

#: Pages a little larger than what may overlap can be dialled, so that a sentence says what may.
MOST_OVERLAP_MM, MOST_MARGIN_MM = 40.0, 25.0
LEAST_SIDE_MM, MOST_SIDE_MM = papers.LEAST_PAPER_MM, 1200.0


class PrintOptions(QWidget):
    """``changed`` comes when the pieces are to be laid anew, ``pages_changed`` when other pages are printed again."""

    changed = Signal()
    pages_changed = Signal()

    def __init__(self, preferences: Preferences, *, has_fold: bool) -> None:
        super().__init__()
        scale = Lengths(preferences.units)
        self.papers = _box(PAPERS, preferences.paper)
        self.ways = _box({way: way for way in WAYS}, _way(preferences))
        self.wide = NumberDial("width", scale, LEAST_SIDE_MM, MOST_SIDE_MM, preferences.own_width)
        self.high = NumberDial("height", scale, LEAST_SIDE_MM, MOST_SIDE_MM, preferences.own_height)
        self.overlap = NumberDial("overlap", scale, 0.0, MOST_OVERLAP_MM, preferences.overlap or 12.0)
        self.edge_to_edge = QCheckBox("edge to edge")
        self.edge_to_edge.setToolTip("Pages meet at their joins and do not overlap; they are taped on the back")
        self.edge_to_edge.setChecked(preferences.overlap == 0)
        self.margin = NumberDial("margin left blank by the printer", scale, 0.0, MOST_MARGIN_MM, preferences.margin)
        self.whole = QCheckBox("halves on the fold opened out")
        self.whole.setToolTip("For single layers of cloth and one-way prints")
        self.whole.setVisible(has_fold)
        self.toile = QCheckBox("for a fitting toile, 25 mm at seams")
        self.toile.setToolTip("Every seam has 25 mm to be let out; hems stay")
        self.freely = QCheckBox("pieces may lie askew on the paper")
        self.freely.setToolTip("Any piece turns freely, its grainline with it, where that saves sheets")
        self.before = QCheckBox("with the outline as traced, dashed")
        self.shaded = QCheckBox("what was altered in grey")
        self.again = QLineEdit()
        self.again.setPlaceholderText("all pages")
        self.again.setToolTip("B3, or C1-C4 for several of a row; Ctrl and a click on a page adds it or takes it away")
        self._usual_margin = self._margin_of_paper()
        self._lay_out()
        self._connect()
        self._show_what_counts()

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        form.addRow("paper", self.papers)
        self._own = in_a_row(self.wide, QLabel("by"), self.high)
        form.addRow(self._own)
        form.addRow("pages lie", self.ways)
        form.addRow("pages overlap by", in_a_row(self.overlap, self.edge_to_edge))
        form.addRow("margin left blank by the printer", self.margin)
        form.addRow("pages to print again", self.again)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(form)
        layout.addWidget(self.whole)
        layout.addWidget(self.toile)
        layout.addWidget(self.freely)
        layout.addWidget(self.before)
        layout.addWidget(self.shaded)

    def _connect(self) -> None:
        self.papers.currentIndexChanged.connect(self._another_paper)
        self.ways.currentIndexChanged.connect(lambda _: self.changed.emit())
        for dial in (self.wide, self.high, self.overlap, self.margin):
            dial.dialled.connect(lambda _: self.changed.emit())
        for tick in (self.edge_to_edge, self.whole, self.toile, self.freely, self.before, self.shaded):
            tick.toggled.connect(lambda _: self._show_what_counts())
            tick.toggled.connect(lambda _: self.changed.emit())
        self.again.textChanged.connect(lambda _: self.pages_changed.emit())

    def choice(self) -> PrintChoice:
        """What is chosen. Raises PatternError for a paper that is none."""
        overlap = 0.0 if self.edge_to_edge.isChecked() else self.overlap.value
        return PrintChoice(
            self.paper(), self.margin.value, overlap, self.way(), self.whole.isChecked(), self.toile.isChecked(),
            self.freely.isChecked(), self.again.text(), self.before.isChecked(), self.shaded.isChecked(),
        )

    def paper(self) -> Paper:
        name = str(self.papers.currentData())
        if name != OWN_SIZE:
            return papers.PAPERS[name]
        wide, high = sorted((self.wide.value, self.high.value))
        return Paper(f"{wide:g} x {high:g} mm", wide, high)

    def way(self) -> Way:
        return WAYS[self.ways.currentIndex()]

    def preferred(self) -> dict[str, object]:
        """What is kept for the next print, by the names of the preferences."""
        return {
            "paper": str(self.papers.currentData()),
            "own_width": self.wide.value,
            "own_height": self.high.value,
            "landscape": self.way() == "landscape",
            "either_way": self.way() == WAYS[2],
            "overlap": 0.0 if self.edge_to_edge.isChecked() else self.overlap.value,
            "margin": self.margin.value,
        }

    def add_or_take(self, page: str) -> None:
        """Print a page again, or not after all."""
        names = [name for name in self.again.text().upper().replace(" ", "").split(",") if name]
        names = [name for name in names if name != page] if page in names else [*names, page]
        self.again.setText(", ".join(names))

    def _another_paper(self) -> None:
        """A margin that was the paper's own becomes that of the other paper; one that was dialled stays."""
        usual = self._usual_margin
        self._usual_margin = self._margin_of_paper()
        if self.margin.value == usual:
            self.margin.set_value(self._usual_margin)
        self._show_what_counts()
        self.changed.emit()

    def _margin_of_paper(self) -> float:
        name = str(self.papers.currentData())
        return (papers.A4 if name == OWN_SIZE else papers.PAPERS[name]).margin_mm

    def _show_what_counts(self) -> None:
        self._own.setVisible(self.papers.currentData() == OWN_SIZE)
        self.overlap.setEnabled(not self.edge_to_edge.isChecked())


def _way(preferences: Preferences) -> Way:
    return WAYS[2] if preferences.either_way else WAYS[1] if preferences.landscape else WAYS[0]


def _box(words: dict, chosen: object) -> QComboBox:  # type: ignore[type-arg]
    box = QComboBox()
    for value, text in words.items():
        box.addItem(text, value)
    box.setCurrentIndex(max(0, box.findData(chosen)))
    return box

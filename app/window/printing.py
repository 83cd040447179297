"""Printing: which paper, how the pages overlap, and a map of the pages to look at before paper is wasted."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, QTimer
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.window.before_saving import lacking_label
from app.window.dials import Lengths, NumberDial
from app.window.look import em
from app.window.palette import Palette
from app.window.preferences import PAPERS, Preferences
from app.window.thumbnails import path_of
from geometry import sheets
from geometry.errors import PatternError
from geometry.pens import Role
from geometry.pipeline import Draft
from geometry.sheets import Page, Sheet, SheetSettings, tile

#: The pieces are laid out closely when nothing was changed for so long.
COUNT_AFTER_MS = 250


def settings_of(preferences: Preferences) -> SheetSettings:
    """How the pages are cut, as she prefers it."""
    return SheetSettings(
        sheets.PAPERS[preferences.paper], preferences.margin, preferences.overlap, preferences.landscape
    )


def pages_of(draft: Draft, settings: SheetSettings, *, closely: bool = True) -> tuple[Sheet, tuple[Page, ...]]:
    """The sheet and its pages, or quicker and less closely. Raises PatternError where they cannot be laid out."""
    from app import outputs

    sheet = outputs.page_sheet(draft, settings, closely=closely)
    return sheet, tile(sheet, settings)


def count_words(draft: Draft, settings: SheetSettings) -> list[str]:
    """The paper and how many sheets of it, in two lines."""
    lying = ", landscape" if settings.landscape else ""
    try:
        _, pages = pages_of(draft, settings, closely=False)
    except PatternError as error:
        return [f"{settings.paper.name}{lying}", f"! {error.says}"]
    printed = sum(1 for page in pages if page.number is not None)
    return [f"{settings.paper.name}{lying}", f"at most {printed} sheets and a first page"]


class PageMap(QWidget):
    """The sheet with its pieces and its pages; pages that are left out are crossed.

    A piece without a cutting line is shown by its stitching line, dashed in the colour of what is wrong.
    """

    def __init__(self, palette: Palette) -> None:
        super().__init__()
        self._palette = palette
        self._sheet: Sheet | None = None
        self._pages: Sequence[Page] = ()
        self._settings = SheetSettings()
        self.setMinimumSize(QSize(em() * 24, em() * 22))

    def show_pages(self, sheet: Sheet | None, pages: Sequence[Page], settings: SheetSettings) -> None:
        self._sheet, self._pages, self._settings = sheet, pages, settings
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(self._palette.mat))
        if self._sheet is not None:
            self._paint_sheet(painter, self._sheet)
        painter.end()

    def _paint_sheet(self, painter: QPainter, sheet: Sheet) -> None:
        live = self._settings.live
        scale = min((self.width() - 24) / max(sheet.width, 1), (self.height() - 24) / max(sheet.height, 1))
        left = (self.width() - sheet.width * scale) / 2
        foot = (self.height() + sheet.height * scale) / 2

        def box(page: Page) -> QRectF:
            x, y = page.origin
            return QRectF(left + x * scale, foot - (y + live[1]) * scale, live[0] * scale, live[1] * scale)

        for page in self._pages:
            self._paint_page(painter, page, box(page))
        painter.save()
        painter.translate(left, foot)
        painter.scale(scale, scale)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for placed in sheet.placed:
            strokes = placed.there.strokes
            cut = any(stroke.role is Role.CUT for stroke in strokes)
            painter.setPen(_pen(self._palette.paper_ink if cut else self._palette.paper_change, 1.2, dashed=not cut))
            for stroke in strokes:
                if stroke.role in (Role.CUT if cut else Role.STITCH, Role.FOLD):
                    painter.drawPath(path_of(stroke.chain))
        painter.restore()
        painter.setPen(QColor(self._palette.paper_measured))
        for page in self._pages:
            if page.number is not None:
                painter.drawText(box(page).adjusted(6, 4, -6, -4), Qt.AlignmentFlag.AlignTop, page.name)

    def _paint_page(self, painter: QPainter, page: Page, box: QRectF) -> None:
        if page.number is None:
            painter.setPen(_pen(self._palette.mat_ghost, 1.0, dashed=True))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box)
            painter.drawLine(box.topLeft(), box.bottomRight())
            painter.drawLine(QPointF(box.right(), box.top()), QPointF(box.left(), box.bottom()))
            return
        painter.fillRect(box, QColor(self._palette.paper))
        painter.setPen(_pen(self._palette.paper_ghost, 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(box)


class PrintDialog(QDialog):
    """Paper and pages, with their map; accepted when she wants them saved."""

    def __init__(self, parent: QWidget, draft: Draft, preferences: Preferences) -> None:
        super().__init__(parent)
        self.setWindowTitle("Print pages")
        self._draft, self._start = draft, preferences
        self._papers = QComboBox()
        for name, words in PAPERS.items():
            self._papers.addItem(words, name)
        self._papers.setCurrentIndex(self._papers.findData(preferences.paper))
        self._lying = QCheckBox("landscape")
        self._lying.setToolTip("Pages on their long side")
        self._lying.setChecked(preferences.landscape)
        scale = Lengths(preferences.units)
        self._overlap = NumberDial("overlap", scale, 0.0, 40.0, preferences.overlap)
        self._margin = NumberDial("margin left blank by the printer", scale, 0.0, 25.0, preferences.margin)
        self._says = QLabel()
        self._says.setWordWrap(True)
        self._save = QPushButton("Save the pages as a PDF…")
        self._map = PageMap(parent.colours if hasattr(parent, "colours") else _light())
        self._lay_out()
        self._papers.currentIndexChanged.connect(lambda _: self._count_anew())
        self._lying.toggled.connect(lambda _: self._count_anew())
        for dial in (self._overlap, self._margin):
            dial.dialled.connect(lambda _: self._count_anew())
        self._counting = QTimer(self, interval=COUNT_AFTER_MS, singleShot=True)
        self._counting.timeout.connect(self._count)
        self._count_anew()

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        form.addRow("paper", self._papers)
        form.addRow(self._lying)
        form.addRow("pages overlap by", self._overlap)
        form.addRow("margin left blank by the printer", self._margin)
        advice = QLabel(
            "The first page carries a square of 100 mm and one of 4 in: print it alone, measure it, and print the rest "
            "only when it is right. Print at 100 %, never “fit to page”."
        )
        advice.setWordWrap(True)
        advice.setProperty("role", "quiet")
        left = QVBoxLayout()
        left.addLayout(form)
        left.addWidget(self._says)
        left.addWidget(lacking_label(self._draft))
        left.addStretch(1)
        left.addWidget(advice)
        side = QWidget()
        side.setLayout(left)
        side.setFixedWidth(em() * 18)
        self._save.setProperty("role", "main")
        self._save.clicked.connect(self.accept)
        self._save.setDefault(True)
        leave = QPushButton("Not now")
        leave.clicked.connect(self.reject)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(leave)
        buttons.addWidget(self._save)
        middle = QHBoxLayout()
        middle.setSpacing(em())
        middle.addWidget(side)
        middle.addWidget(self._map, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em())
        layout.addLayout(middle, 1)
        layout.addLayout(buttons)
        self.resize(em() * 56, em() * 34)

    def preferred(self) -> dict[str, object]:
        """What she chose, by the names of the preferences."""
        return {
            "paper": str(self._papers.currentData()),
            "landscape": self._lying.isChecked(),
            "overlap": self._overlap.value,
            "margin": self._margin.value,
        }

    def options(self) -> list[str]:
        """The same for the command line."""
        chosen = self.preferred()
        lying = ["--landscape"] if chosen["landscape"] else []
        lengths = [f"--overlap={chosen['overlap']}mm", f"--margin={chosen['margin']}mm"]
        return ["--paper", str(chosen["paper"]), *lengths, *lying]

    def words(self) -> str:
        return self._says.text()

    def _count_anew(self) -> None:
        self._says.setText("Laying the pieces out…")
        self._save.setEnabled(False)
        self._counting.start()

    def _count(self) -> None:
        chosen = self.preferred()
        try:
            settings = SheetSettings(
                sheets.PAPERS[str(chosen["paper"])], self._margin.value, self._overlap.value, self._lying.isChecked()
            )
            sheet, pages = pages_of(self._draft, settings)
        except PatternError as error:
            self._says.setText(f"! {error.says}")
            self._map.show_pages(None, (), SheetSettings())
            self._save.setEnabled(False)
            return
        printed = sum(1 for page in pages if page.number is not None)
        left_out = len(pages) - printed
        more = f"; {left_out} empty ones are left out" if left_out else ""
        self._says.setText(f"{printed} sheets{more}, and a first page with the test squares and the map.")
        self._map.show_pages(sheet, pages, settings)
        self._save.setEnabled(True)


def _pen(colour: str, width: float, *, dashed: bool = False) -> QPen:
    pen = QPen(QColor(colour), width, Qt.PenStyle.DashLine if dashed else Qt.PenStyle.SolidLine)
    pen.setCosmetic(True)
    return pen


def _light() -> Palette:
    from app.window.palette import LIGHT

    return LIGHT

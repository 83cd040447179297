"""Which size? What was measured on a body, the size it wants at each level, and the ease of every size there."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QFormLayout,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.documents import Document
from app.picked_sizes import can_blend, levels_to_blend, own_stretch, picked_lines, size_to_work_in, worked_in
from app.window.dials import Lengths
from app.window.getting_in_rows import Measured
from app.window.look import em
from geometry.closures import Girth
from geometry.errors import PatternError
from geometry.findings import Level
from geometry.garments import Garment
from geometry.nests import size_names
from geometry.pieces import Cloth
from geometry.readings import mm_words
from geometry.rings import stretch_of
from geometry.size_tables import LEVELS_OF_BODY, Girths
from geometry.sizing import HIGH_BUST, Body, Ease, Picked, picked
from geometry.units import System, in_system

_LEAST_MM, _MOST_MM = 400.0, 2500.0
_USUAL_MM = 900.0
#: The least width of the dialog, in lines of text.
_LETTERS = 34


class SizeDialog(QDialog):
    """Girths to dial, and what they come to. ``taken`` is the document as she wants it worked, None when she leaves."""

    def __init__(self, parent: QWidget | None, document: Document, system: System, body: Body | None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Which size?")
        self.taken: Document | None = None
        self._document, self._system = document, system
        self._found: Picked | None = None
        self._rows = self._measured_rows(body or body_of(document.garment))
        self._says = QLabel()
        self._says.setWordWrap(True)
        self._warns = QLabel()
        self._warns.setWordWrap(True)
        self._warns.setProperty("role", "warning")
        self._plain, self._blended = QPushButton(), QPushButton()
        self._plain.setProperty("role", "main")
        self._plain.clicked.connect(lambda: self._take(False))
        self._blended.clicked.connect(lambda: self._take(True))
        self._lay_out()
        self._work_out()

    def row(self, name: str) -> Measured:
        """The row of “high bust”, “bust”, “waist” or “hip”."""
        return self._rows[name]

    def body(self) -> Body:
        """What is dialled; None for what is not ticked."""
        found = {name: row.dial.value if row.box.isChecked() else None for name, row in self._rows.items()}
        return Body(Girths(*(found[level] for level in LEVELS_OF_BODY)), found[HIGH_BUST])

    def _measured_rows(self, body: Body) -> dict[str, Measured]:
        known = {HIGH_BUST: body.high_bust} | {level: getattr(body.girths, level) for level in LEVELS_OF_BODY}
        usual = {HIGH_BUST: body.girths.bust or _USUAL_MM}
        rows = {}
        for name, value in known.items():
            start = value if value is not None else usual.get(name, _USUAL_MM)
            limits = (_LEAST_MM, _MOST_MM)
            row = Measured(name, Lengths(self._system), limits, start, value is not None, "not measured")
            row.changed.connect(self._work_out)
            rows[name] = row
        return rows

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setHorizontalSpacing(em())
        form.setVerticalSpacing(em() // 3)
        for name, row in self._rows.items():
            form.addRow(name, row)
        percent, known = stretch_of(self._document.garment, Cloth.SELF)
        if percent or self._document.garment.knit:
            form.addRow("stretch of the cloth", QLabel(f"{percent:g} %" if known else "not measured"))
        frame = QFrame()
        frame.setProperty("role", "sheet")
        self._grid = QGridLayout(frame)
        self._grid.setContentsMargins(em(), em() // 2, em(), em() // 2)
        self._grid.setHorizontalSpacing(em() * 2)
        self._grid.setVerticalSpacing(em() // 4)
        leave = QPushButton("Not now")
        for button in (leave, self._plain, self._blended):
            button.setAutoDefault(False)
        leave.clicked.connect(self.reject)
        foot = QHBoxLayout()
        foot.addStretch(1)
        for button in (leave, self._blended, self._plain):
            foot.addWidget(button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em())
        layout.addLayout(form)
        layout.addWidget(frame)
        layout.addWidget(self._says)
        layout.addWidget(self._warns)
        layout.addStretch(1)
        layout.addLayout(foot)

    def _work_out(self) -> None:
        """Say what the girths dialled come to."""
        garment, body = self._document.garment, self.body()
        try:
            self._found = picked(garment, body, own_stretch(garment))
        except PatternError as error:
            self._found = None
            self._say([], [f"! {error.says}"])
        else:
            signs = {Level.NOTICE: "~"}
            self._say(
                [f"{line[:1].upper()}{line[1:]}." for line in picked_lines(self._found, body)],
                [f"{signs.get(finding.level, '!')} {finding.says}" for finding in self._found.findings],
            )
        self._fill_grid(garment, self._found)
        self._say_buttons(garment, self._found)
        self._fit()

    def _fit(self) -> None:
        """As wide as the buttons need, and as high as all the lines need then."""
        layout = self.layout()
        assert layout is not None
        layout.activate()
        width = max(layout.totalMinimumSize().width(), em() * _LETTERS)
        self.setMinimumSize(width, layout.totalHeightForWidth(max(width, self.width() if self.isVisible() else 0)))
        if not self.isVisible():
            self.resize(self.minimumSize())

    def _say(self, lines: list[str], warnings: list[str]) -> None:
        for label, said in ((self._says, lines), (self._warns, warnings)):
            label.setText(in_system("\n".join(said), self._system))
            label.setVisible(bool(said))

    def _say_buttons(self, garment: Garment, found: Picked | None) -> None:
        self._plain.setEnabled(found is not None)
        self._blended.setVisible(found is not None and can_blend(garment, found))
        if found is None:
            self._plain.setText("Work in that size")
            return
        base = size_to_work_in(found)
        here = base == garment.size
        self._plain.setText(f"It is worked in size {base}" if here else f"Work in size {base}")
        self._plain.setEnabled(not here)
        others = " and ".join(f"{size} at the {level}" for level, size in levels_to_blend(found).items())
        if others:
            self._blended.setText(f"Blend to {others}" if here else f"Work in {base}, blend to {others}")

    def _fill_grid(self, garment: Garment, found: Picked | None) -> None:
        while (item := self._grid.takeAt(0)) is not None:
            if (label := item.widget()) is not None:
                label.hide()
                label.deleteLater()
        levels = [level for level in LEVELS_OF_BODY if found is not None and any(e.level == level for e in found.eases)]
        self._put("ease by size", 0, 0, "quiet")
        for column, level in enumerate(levels, 1):
            self._put(f"at the {level}", 0, column, "heading")
        for row, size in enumerate(size_names(garment), 1):
            wanted = found is not None and size in found.at.values()
            self._put(size, row, 0, "heading" if wanted else "")
            for column, level in enumerate(levels, 1):
                assert found is not None
                ease, mine = found.ease(size, level), found.at.get(level) == size
                if ease is not None:
                    self._put(f"{'✓ ' if mine else ''}{ease_words(ease, self._system)}", row, column,
                              "measured" if mine else "quiet")  # fmt: skip

    def _put(self, words: str, row: int, column: int, role: str) -> None:
        label = QLabel(words)
        if role:
            label.setProperty("role", role)
        if column:
            label.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._grid.addWidget(label, row, column)
        label.show()

    def _take(self, blended: bool) -> None:
        if self._found is not None:
            self.taken = worked_in(self._document, self._found, blended=blended)
            self.accept()


def body_of(garment: Garment) -> Body:
    """What is known of the body: the hip where it was measured, else the girths that the size worked in is for."""
    table = garment.size_table
    of_size = table.girths.get(garment.size, Girths()) if table is not None else Girths()
    return Body(Girths(of_size.bust, of_size.waist, garment.girths.get(Girth.HIP, of_size.hip)))


def ease_words(ease: Ease, system: System) -> str:
    """“+ 3.2 cm”, or “− 2 cm” where the cloth has to stretch to go round the body."""
    tenths = round(ease.ease, 1)
    length = in_system(mm_words(abs(tenths)), system)
    if tenths >= 0:
        return f"+ {length}" if tenths else length
    return f"− {length}"

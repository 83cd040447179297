"""Who gets into the garment: rows for the stretch of its cloth, the girths that have to pass, and its openings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QFormLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.getting_in import MOST_STRETCH, end_name, new_opening, opening_words
from app.window.dials import Lengths, NumberDial
from app.window.look import em
from geometry.closures import Girth, Opening, OpeningKind
from geometry.errors import PatternError
from geometry.garments import Garment
from geometry.notes import edge_run_length
from geometry.pieces import Cloth, Edge, Piece
from geometry.rings import girth_of, stretch_of
from geometry.units import System, in_system

_LEAST_GIRTH_MM, _MOST_GIRTH_MM = 100.0, 2500.0
_OPENS_MM = 200.0


class Percents:
    """Parts of a hundred, steps of 5, fine ones of 1."""

    def say(self, value: float) -> str:
        return f"{value:g} %"

    def read(self, text: str) -> float:
        try:
            return float(text.strip().rstrip("% ").replace(",", "."))
        except ValueError:
            raise PatternError(f"“{text.strip()}” is no stretch; write one such as 50 %.") from None

    def understood(self, value: float) -> str:
        return self.say(value)

    def step(self, fine: bool) -> float:
        return 1.0 if fine else 5.0


class GettingInRows:
    """The rows put into a form; ``taken`` is the garment as they say it."""

    def __init__(self, form: QFormLayout, garment: Garment, system: System) -> None:
        self._garment = garment
        percent, measured = stretch_of(garment, Cloth.SELF)
        self._stretch = Measured("stretch of the cloth", Percents(), (0.0, MOST_STRETCH), percent, measured)
        self._stretch.dial.setToolTip(
            f"{self._stretch.dial.toolTip()}\nalong the neck, on a fold, in from the edge: 4 in that give 6 in are 50 %"
        )
        form.addRow("stretch of the cloth", self._stretch)
        self._girths: dict[Girth, Measured] = {}
        for girth in Girth:
            value, _ = girth_of(garment, girth)
            known, limits = girth in garment.girths, (_LEAST_GIRTH_MM, _MOST_GIRTH_MM)
            row = Measured(f"girth of the {girth}", Lengths(system), limits, value, known)
            self._girths[girth] = row
            form.addRow(f"girth of the {girth}", row)
        self._kept = [(one, QCheckBox(in_system(opening_words(garment, one), system))) for one in garment.openings]
        self._new = _NewOpening(garment, system)
        column = QVBoxLayout()
        column.setSpacing(em() // 4)
        for _, box in self._kept:
            box.setChecked(True)
            column.addWidget(box)
        column.addWidget(self._new)
        form.addRow("openings", column)

    def taken(self) -> Garment:
        """The garment with what is ticked and dialled; the same object where nothing was changed."""
        garment = self._garment
        stretch = self._stretch.put(garment.stretch, Cloth.SELF)
        girths = dict(garment.girths)
        for girth, row in self._girths.items():
            girths = row.put(girths, girth)
        openings = tuple(opening for opening, box in self._kept if box.isChecked())
        if (new := self._new.opening()) is not None:
            openings = (*openings, new)
        if (stretch, girths, openings) == (dict(garment.stretch), dict(garment.girths), garment.openings):
            return garment
        return replace(
            garment, stretch=MappingProxyType(stretch), girths=MappingProxyType(girths), openings=openings
        )


class Measured(QWidget):
    """A tick that something was measured, and what was measured; unticked, ``without`` says what is done without."""

    changed = Signal()

    def __init__(
        self,
        label: str,
        scale: Percents | Lengths,
        limits: tuple[float, float],
        value: float,
        known: bool,
        without: str = "",
    ) -> None:
        super().__init__()
        self.box = QCheckBox("measured")
        self.box.setAccessibleName(f"{label}: measured")
        self.box.setChecked(known)
        self.dial = NumberDial(label, scale, *limits, value)
        usual = QLabel(without or f"taken as {scale.say(value)}")
        usual.setProperty("role", "quiet")
        for widget, shown in ((self.dial, known), (usual, not known)):
            widget.setVisible(shown)
        self.box.toggled.connect(self.dial.setVisible)
        self.box.toggled.connect(lambda on: usual.setVisible(not on))
        self.box.toggled.connect(lambda _: self.changed.emit())
        self.dial.dialled.connect(lambda _: self.changed.emit())
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.box)
        row.addWidget(self.dial)
        row.addWidget(usual)
        row.addStretch(1)

    def put(self, values: Mapping[Any, float], key: object) -> dict[Any, float]:
        """Values with this one put in where it was measured, left out where it was not."""
        rest = {k: v for k, v in values.items() if k != key}
        return rest | {key: self.dial.value} if self.box.isChecked() else rest


class _NewOpening(QWidget):
    """One more opening: what closes it, which edge it is in, from which end and how far."""

    def __init__(self, garment: Garment, system: System) -> None:
        super().__init__()
        self._garment = garment
        self._kind, self._edge, self._end = QComboBox(), QComboBox(), QComboBox()
        self._kind.addItem("none more", None)
        for kind in OpeningKind:
            self._kind.addItem(f"add: {kind}", kind)
        self._edges: list[tuple[Piece, Edge]] = []
        for piece in garment.pieces:
            for edge in piece.edges:
                if not edge.on_fold and garment.seams_of(piece.id, edge.id):
                    self._edges.append((piece, edge))
                    self._edge.addItem(f"{edge.name} of {piece.name}")
        self._far = NumberDial("how far it opens", Lengths(system), 10.0, 2000.0, _OPENS_MM)
        self._kind.setAccessibleName("one more opening")
        self._edge.setAccessibleName("in which edge")
        self._end.setAccessibleName("from which end")
        self._details = QWidget()
        below = QHBoxLayout(self._details)
        below.setContentsMargins(0, 0, 0, 0)
        for widget in (self._edge, self._end, self._far):
            below.addWidget(widget)
        below.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(em() // 4)
        column.addWidget(self._kind)
        column.addWidget(self._details)
        self._details.hide()
        self._kind.currentIndexChanged.connect(lambda: self._details.setVisible(self._kind.currentData() is not None))
        self._edge.currentIndexChanged.connect(self._name_ends)
        self._name_ends()

    def opening(self) -> Opening | None:
        kind = self._kind.currentData()
        if kind is None or not self._edges:
            return None
        piece, edge = self._edges[self._edge.currentIndex()]
        whole = edge_run_length(edge)
        length = self._far.value if self._far.value < whole else None
        return new_opening(self._garment, OpeningKind(kind), piece, edge, str(self._end.currentData()), length)

    def _name_ends(self) -> None:
        self._end.clear()
        if self._edges:
            piece, edge = self._edges[self._edge.currentIndex()]
            for end in ("start", "end"):
                self._end.addItem(f"from the {end_name(piece, edge, end)}", end)

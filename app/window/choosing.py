"""Choosing what a note is done to, and how its jogs are redrawn: the dials that open a small sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.window.dials import Lengths, NumberDial, Shares
from app.window.look import em
from app.window.sentence import pieces_words
from geometry.alterations.base import Alteration
from geometry.garments import Garment
from geometry.notes import Address, BlendChoice, Note, Target
from geometry.pieces import Piece
from geometry.units import System


class SheetDial(QPushButton):
    """A dial that opens a sheet of choices above or below itself."""

    def __init__(self, label: str, make: Callable[[], QWidget]) -> None:
        super().__init__()
        self._label, self._make = label, make
        self._words = ""
        self.setProperty("role", "dial")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.clicked.connect(self.open_sheet)

    def set_words(self, words: str) -> None:
        """Show what is chosen; what is too long for a card is shown in the tooltip."""
        self._words = words
        room = em(self) * 32
        self.setText(self.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, room) + " ▾")
        self.setToolTip(f"{self._label}: {words}")
        self.setAccessibleName(f"{self._label}: {words}")

    def open_sheet(self) -> Sheet:
        sheet = Sheet(self, self._label, self._make())
        sheet.open_beside(self)
        return sheet


class Sheet(QFrame):
    """A small sheet over the window; Escape or a click elsewhere puts it away."""

    def __init__(self, parent: QWidget, title: str, content: QWidget) -> None:
        super().__init__(parent, Qt.WindowType.Popup)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setProperty("role", "sheet")
        heading = QLabel(title[:1].upper() + title[1:])
        heading.setProperty("role", "heading")
        self._content = content
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setWidget(content)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._beside: QWidget | None = None
        layout = QVBoxLayout(self)
        layout.addWidget(heading)
        layout.addWidget(self._area)
        self._take_room()
        content.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Grow with the content when a row unfolds."""
        if event.type() is QEvent.Type.LayoutRequest and watched is self._content:
            self._take_room()
            if self._beside is not None:
                self._place(self._beside)
        return super().eventFilter(watched, event)

    def _take_room(self) -> None:
        room = self._content.sizeHint()
        width = max(self._area.minimumWidth(), min(room.width() + 16, em() * 44))
        self._area.setMinimumSize(width, max(self._area.minimumHeight(), min(room.height() + 4, em() * 24)))

    def open_beside(self, widget: QWidget) -> None:
        self._beside = widget
        self._place(widget)
        self.show()
        self.focusNextChild()

    def _place(self, widget: QWidget) -> None:
        """Above a widget, or below it where there is no room; never off the screen."""
        self.adjustSize()
        at = widget.mapToGlobal(QPoint(0, -self.height() - 4))
        screen = widget.screen().availableGeometry()
        if at.y() < screen.top():
            at = widget.mapToGlobal(QPoint(0, widget.height() + 4))
        self.move(min(max(at.x(), screen.left() + 4), screen.right() - self.width() - 4), at.y())


class PiecesSheet(QWidget):
    """The pieces (or edges) of a garment to tick; a ticked piece may have an amount and a place of its own."""

    chosen = Signal(tuple)
    spot_wanted = Signal(str)

    def __init__(self, garment: Garment, note: Note, alteration: Alteration, system: System) -> None:
        super().__init__()
        self._garment, self._alteration, self._system = garment, alteration, system
        self._targets: list[Target] = list(note.targets)
        self._note = note
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 6, 0)
        layout.setSpacing(0)
        for piece in garment.pieces:
            if alteration.aims_at == "edges":
                self._add_edges(layout, piece)
            else:
                layout.addWidget(self._piece_row(piece))
        layout.addStretch(1)

    def _add_edges(self, layout: QVBoxLayout, piece: Piece) -> None:
        heading = QLabel(piece.name)
        heading.setProperty("role", "quiet")
        layout.addWidget(heading)
        for edge in piece.edges:
            if edge.on_fold:
                continue
            box = QCheckBox(edge.name)
            box.setChecked(any(t.piece == piece.id and t.edge == edge.id for t in self._targets))
            target = Target(piece.id, edge=edge.id)
            box.toggled.connect(lambda on, target=target: self._set_edge(target, on))
            layout.addWidget(box)

    def _set_edge(self, target: Target, on: bool) -> None:
        self._set(target, on, lambda other: (other.piece, other.edge) == (target.piece, target.edge))

    def _piece_row(self, piece: Piece) -> QWidget:
        row = QWidget()
        layout = QVBoxLayout(row)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        target = next((t for t in self._targets if t.piece == piece.id), None)
        box = QCheckBox(piece.name)
        box.setChecked(target is not None)
        own = OwnChoices(piece, target, self._note, self._alteration, self._system)
        own.setVisible(target is not None)
        box.toggled.connect(own.setVisible)
        box.toggled.connect(lambda on: self._set(own.target(), on, lambda t: t.piece == piece.id))
        own.changed.connect(lambda: self._set(own.target(), box.isChecked(), lambda t: t.piece == piece.id))
        own.spot_wanted.connect(lambda: self._want_spot(piece.id))
        layout.addWidget(box)
        layout.addWidget(own)
        return row

    def _want_spot(self, piece_id: str) -> None:
        self.spot_wanted.emit(piece_id)
        self.window().close()

    def _set(self, target: Target, on: bool, is_it: Callable[[Target], bool]) -> None:
        kept = [t for t in self._targets if not is_it(t)]
        self._targets = [*kept, target] if on else kept
        order = {piece.id: at for at, piece in enumerate(self._garment.pieces)}
        self._targets.sort(key=lambda t: order.get(t.piece, len(order)))
        self.chosen.emit(tuple(self._targets))


class OwnChoices(QWidget):
    """What one target piece has of its own: an amount, and a place on one of its edges."""

    changed = Signal()
    spot_wanted = Signal()

    def __init__(
        self, piece: Piece, target: Target | None, note: Note, alteration: Alteration, system: System
    ) -> None:
        super().__init__()
        self._target = target or Target(piece.id)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em() * 2, 0, 0, 4)
        layout.setSpacing(2)
        if alteration.main is not None:
            self._add_amount(layout, note, alteration, system)
        self._add_place(layout, piece)

    def target(self) -> Target:
        return self._target

    def _add_amount(self, layout: QVBoxLayout, note: Note, alteration: Alteration, system: System) -> None:
        main = alteration.main or ""
        field = alteration.fields()[main]
        value = self._target.amount if self._target.amount is not None else float(getattr(note.amounts, main))
        box = QCheckBox(f"its own {field.label}")
        box.setChecked(self._target.amount is not None)
        dial = NumberDial(f"its own {field.label}", Lengths(system), field.least, field.most, value)
        dial.setVisible(box.isChecked())
        box.toggled.connect(dial.setVisible)
        box.toggled.connect(lambda on: self._change(amount=dial.value if on else None))
        dial.dialled.connect(lambda new: self._change(amount=new))
        layout.addLayout(_row(box, dial))

    def _add_place(self, layout: QVBoxLayout, piece: Piece) -> None:
        across = self._target.across[0] if self._target.across else None
        box = QCheckBox("its own place, on the edge")
        box.setChecked(across is not None)
        edges = QComboBox()
        for edge in piece.edges:
            edges.addItem(edge.name, edge.id)
        edges.setCurrentIndex(max(0, edges.findData(across.edge if across else None)))
        along = NumberDial("how far along the edge", Shares(), 0.0, 1.0, _share_of(across))
        pick = QPushButton("point at it on the table")
        details = QWidget()
        details.setLayout(_row(edges, along, pick))
        details.setVisible(across is not None)

        def take() -> None:
            here = (Address(str(edges.currentData()), share=along.value),) if box.isChecked() else None
            self._change(across=here)

        box.toggled.connect(details.setVisible)
        box.toggled.connect(take)
        edges.currentIndexChanged.connect(take)
        along.dialled.connect(take)
        pick.clicked.connect(self.spot_wanted)
        layout.addWidget(box)
        layout.addWidget(details)

    def _change(self, **what: object) -> None:
        self._target = replace(self._target, **what)  # type: ignore[arg-type]
        self.changed.emit()


class BlendSheet(QWidget):
    """How a note's jogs are redrawn: shared, filled out or trimmed in, and how far each way."""

    chosen = Signal(object)

    def __init__(self, blend: BlendChoice, system: System) -> None:
        super().__init__()
        self._blend = blend
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 6, 0)
        for words, share in (
            ("half and half: the jog is shared", 0.5),
            ("filled out: paper is added", 1.0),
            ("trimmed in: paper is cut off", 0.0),
        ):
            button = QRadioButton(words)
            button.setChecked(blend.share == share)
            button.toggled.connect(lambda on, share=share: self._change(share=share) if on else None)
            layout.addWidget(button)
        for words, name in (("towards the start of the edge", "before"), ("towards its end", "after")):
            layout.addLayout(self._run_row(words, name, system))

    def _run_row(self, words: str, name: str, system: System) -> QHBoxLayout:
        value = getattr(self._blend, name)
        box = QCheckBox(f"{words}, no further than")
        box.setChecked(value is not None)
        box.setToolTip("Unticked, it runs on to the next corner, or the next bust, waist or hip line.")
        start = value if value is not None else 100.0
        dial = NumberDial(f"{words}, no further than", Lengths(system), 10.0, 500.0, start)
        dial.setVisible(value is not None)
        box.toggled.connect(dial.setVisible)
        box.toggled.connect(lambda on: self._change(**{name: dial.value if on else None}))
        dial.dialled.connect(lambda new: self._change(**{name: new}))
        return _row(box, dial)

    def _change(self, **what: object) -> None:
        self._blend = replace(self._blend, **what)  # type: ignore[arg-type]
        self.chosen.emit(self._blend)


def pieces_dial_words(garment: Garment, note: Note, alteration: Alteration) -> str:
    """The words on the pieces dial; an amount or a place of a piece's own is said."""
    words = pieces_words(garment, note.targets, alteration.aims_at == "edges")
    own = sum(1 for t in note.targets if t.amount is not None or t.across)
    return f"{words} ({own} of its own)" if own else words


def _share_of(address: Address | None) -> float:
    return address.share if address is not None and address.share is not None else 0.5


def _row(*widgets: QWidget) -> QHBoxLayout:
    layout = QHBoxLayout()
    layout.setContentsMargins(0, 0, 0, 0)
    for widget in widgets:
        layout.addWidget(widget)
    layout.addStretch(1)
    return layout

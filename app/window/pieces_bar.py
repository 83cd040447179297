"""The pieces as small drawings along the top; one of them lies on the table."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QScrollArea, QToolButton, QWidget

from app.window.look import em
from app.window.palette import Palette
from app.window.thumbnails import piece_icon
from geometry.pieces import Piece
from geometry.pipeline import Draft


class PiecesBar(QScrollArea):
    """A button a piece; a dot after the name says that the notes change it."""

    picked = Signal(str)

    def __init__(self, palette: Palette) -> None:
        super().__init__()
        self._palette = palette
        self._buttons: dict[str, QToolButton] = {}
        self._drawn: dict[str, Piece] = {}
        self._group = QButtonGroup(self)
        #: The width at which every piece is shown with its drawing (pixels).
        self.wanted = 0
        self._row = QHBoxLayout()
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(em() // 2)
        self._row.setAlignment(Qt.AlignmentFlag.AlignCenter)
        inside = QWidget()
        inside.setLayout(self._row)
        self.setWidget(inside)
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def show_draft(self, draft: Draft, piece_id: str) -> None:
        """Show the pieces as redrawn, and which of them lies on the table."""
        pieces = draft.redrawn.pieces
        if list(self._buttons) != [piece.id for piece in pieces]:
            self._rebuild(pieces)
        for piece in pieces:
            button = self._buttons[piece.id]
            if self._drawn.get(piece.id) is not piece:
                self._drawn[piece.id] = piece
                button.setIcon(piece_icon(piece, button.iconSize(), self._palette, self.devicePixelRatioF()))
            changed = piece is not draft.garment.piece(piece.id)
            button.setText(f"{piece.name} •" if changed else piece.name)
            button.setToolTip(f"{piece.name}, changed by the notes" if changed else f"{piece.name}, as traced")
            button.setChecked(piece.id == piece_id)
            button.setAccessibleName(button.toolTip())
        self._use_room()
        if piece_id in self._buttons:
            self.ensureWidgetVisible(self._buttons[piece_id])

    def set_palette(self, palette: Palette) -> None:
        self._palette = palette
        self._drawn.clear()

    def clear(self) -> None:
        self._rebuild(())

    def _use_room(self) -> None:
        """Leave the drawings out where the names alone just fit."""
        style = Qt.ToolButtonStyle.ToolButtonTextBesideIcon
        for button in self._buttons.values():
            button.setToolButtonStyle(style)
        self.wanted = sum(button.sizeHint().width() + self._row.spacing() for button in self._buttons.values())
        if self.wanted > self.viewport().width():
            for button in self._buttons.values():
                button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._use_room()

    def wheelEvent(self, event: QWheelEvent) -> None:
        bar = self.horizontalScrollBar()
        bar.setValue(bar.value() - (event.angleDelta().y() or event.angleDelta().x()))
        event.accept()

    def _rebuild(self, pieces: tuple[Piece, ...]) -> None:
        self._drawn.clear()
        for button in self._buttons.values():
            self._group.removeButton(button)
            button.deleteLater()
        self._buttons = {piece.id: self._make(piece) for piece in pieces}
        self.setFixedHeight(em() * 5 // 2 + 12)

    def _make(self, piece: Piece) -> QToolButton:
        button = QToolButton()
        button.setProperty("role", "piece")
        button.setCheckable(True)
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        button.setIconSize(QSize(em() * 3 // 2, em() * 2))
        button.clicked.connect(lambda _=False, piece_id=piece.id: self.picked.emit(piece_id))
        self._group.addButton(button)
        self._row.addWidget(button)
        return button

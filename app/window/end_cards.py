"""The cards at the ends of the strip: in a few lines, how tracing, truing, allowances and paper stand."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QLabel

from app.window.cards import Card
from app.window.look import em
from app.window.palette import Palette
from app.window.thumbnails import Thumbnail
from geometry.garments import Garment
from geometry.pieces import Finish, Piece
from geometry.pipeline import Draft
from geometry.units import System, tape_words

TRACED, TRUED, ALLOWANCES, PAPER = "traced", "trued", "allowances", "paper"


class EndCard(Card):
    """A heading, a few lines and a small drawing. Return, Space or a click opens its settings."""

    opened = Signal(str)

    def __init__(self, card_id: str, title: str, opens: str, palette: Palette) -> None:
        super().__init__(card_id)
        self._title = title
        self.setToolTip(opens)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        heading = QLabel(title)
        heading.setProperty("role", "heading")
        self._lines = QLabel()
        self._lines.setProperty("role", "quiet")
        self._lines.setWordWrap(True)
        self._lines.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self._thumbnail = Thumbnail(palette)
        self._thumbnail.setFixedSize(QSize(em() * 4, em() * 9 // 2))
        self.column.setContentsMargins(em() * 2 // 3, em() // 2, em() * 2 // 3, em() // 3)
        self.column.setSpacing(em() // 4)
        self.column.addWidget(heading)
        self.column.addWidget(self._lines)
        self.column.addStretch(1)
        self.column.addWidget(self._thumbnail, 0, Qt.AlignmentFlag.AlignHCenter)

    def say(self, lines: Sequence[str], piece: Piece | None, was: Piece | None = None) -> None:
        text = "\n".join(lines)
        self._lines.setText(text)
        self.setAccessibleName(f"{self._title}: {text}")
        self._thumbnail.show_piece(piece, was)

    def words(self) -> str:
        """What the card says below its heading."""
        return self._lines.text()

    def fit(self, height: int, least: int, most: int) -> None:
        small = min(em() * 9 // 2, height // 3)
        self._thumbnail.setFixedHeight(small)
        super().fit(height, least, most)
        if (over := self.height_at(self.width()) - height) > 0:
            self._thumbnail.setFixedHeight(max(0, small - over))

    def set_palette(self, palette: Palette) -> None:
        self._thumbnail.set_palette(palette)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self.rect().contains(event.position().toPoint()):
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.opened.emit(self.card_id)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.opened.emit(self.card_id)
        else:
            super().keyPressEvent(event)


def traced_lines(garment: Garment) -> list[str]:
    """What was traced: how many pieces, in which size."""
    lines = [_counted(len(garment.pieces), "piece"), _counted(len(garment.seams), "seam")]
    if garment.size:
        lines.append(f"size {garment.size}" if not garment.size.lower().startswith("size") else garment.size)
    return lines


def trued_lines(draft: Draft) -> list[str]:
    """How many edges were blended, and whether the seams walk."""
    edges = {(blend.piece, blend.edge) for one in draft.blended.pieces.values() for blend in one.blends}
    blended = f"{_counted(len(edges), 'edge')} blended" if edges else "nothing to blend"
    poor = sum(1 for one in draft.blended.pieces.values() for blend in one.blends if blend.within_bounds is False)
    out = sum(1 for walk in draft.after if walk.verdict in ("notice", "warn", "fault"))
    walk = "all seams walk" if not out else f"! {_counted(out, 'seam')} out"
    return [blended, *([f"! {poor} less fair than wished"] if poor else []), walk]


def allowance_lines(draft: Draft, system: System) -> list[str]:
    """The widths that occur, by what becomes of the edge, the commonest first."""
    found: dict[Finish, dict[float, int]] = {}
    for piece in draft.redrawn.pieces:
        widths = draft.cut[piece.id].widths
        for edge in piece.edges:
            if not edge.on_fold:
                counts = found.setdefault(edge.finish, {})
                width = widths.get(edge.id, draft.redrawn.width(edge))
                counts[width] = counts.get(width, 0) + 1
    lines = []
    for finish, counts in sorted(found.items(), key=lambda item: -sum(item[1].values())):
        said = ", ".join(tape_words(width, system) for width in sorted(counts, key=lambda w: -counts[w])[:2])
        lines.append(f"{finish} {said}")
    failed = [piece.name for piece in draft.redrawn.pieces if draft.cut[piece.id].cutting is None]
    return [*([f"! none on {', '.join(failed)}"] if failed else []), *lines[:3]]


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"

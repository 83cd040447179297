"""Undo: every change is one command that holds the document before and after; the steps of one drag merge."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtGui import QUndoCommand

if TYPE_CHECKING:
    from app.files.garment_file import Document

_MERGES = 1


class Change(QUndoCommand):
    """From one document to the next. Commands with the same ``stroke``, unless 0, become one."""

    def __init__(
        self, put: Callable[[Document], None], before: Document, after: Document, words: str, stroke: int = 0
    ) -> None:
        super().__init__(words)
        self._put, self._before, self._after, self._stroke = put, before, after, stroke

    def id(self) -> int:
        return _MERGES if self._stroke else -1

    def mergeWith(self, other: QUndoCommand) -> bool:
        if not isinstance(other, Change) or other._stroke != self._stroke:
            return False
        self._after = other._after
        self.setText(other.text())
        return True

    def undo(self) -> None:
        self._put(self._before)

    def redo(self) -> None:
        self._put(self._after)

"""More files on the page of tracing while it is open: chosen or dropped, and left out again."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QDialog, QFileDialog, QWidget

from app.files.safely import read_bytes
from app.tracing.limits import LARGEST
from app.tracing.reading import ENDINGS
from app.window.trace_work import Given
from geometry.errors import PatternError

if TYPE_CHECKING:
    from app.window.trace_page import TracePage

#: A photo that cannot be read goes the same way, to be told so.
TRACED_IN = (*ENDINGS, ".heic")
#: What the dialog offers.
KINDS = f"Drawings and pictures ({' '.join(f'*{ending}' for ending in TRACED_IN)})"


def given(paths: Sequence[Path]) -> list[Given]:
    """What some files hold. Raises PatternError where one cannot be read."""
    return [Given(path.name, read_bytes(path, LARGEST)) for path in paths]


class TakesDrops(QDialog):
    """``dropped`` brings the paths of files that were dropped on it."""

    dropped = Signal(list)

    def __init__(self, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setAcceptDrops(True)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.setDropAction(Qt.DropAction.CopyAction)
            event.accept()

    def dropEvent(self, event: QDropEvent) -> None:
        self.dropped.emit([Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()])
        event.acceptProposedAction()


class FileActs:
    """Takes more files in with those of a page, and leaves one out."""

    def __init__(self, page: TracePage, folder: str) -> None:
        self._page, self._folder = page, folder
        page.side.adding.connect(self.ask)
        page.dropped.connect(self.take)
        page.side.leaving_out.connect(lambda: self.leave_out(page.file))

    def ask(self) -> None:
        """Choose more files."""
        names, _ = QFileDialog.getOpenFileNames(self._page, "Add files", self._folder, KINDS)
        if names:
            self.take([Path(name) for name in names])

    def take(self, paths: Sequence[Path]) -> None:
        """Take more files in; the page stays as it is, with one sentence, where one cannot be read."""
        page = self._page
        try:
            files = given(paths)
        except PatternError as error:
            page.notice.say(f"{error.says} All else is still here.", wrong=True)
            return
        self._folder = str(paths[0].parent)
        page.side.take_up(None)
        page.add_files(files)

    def leave_out(self, file: int) -> None:
        """Go on without a file; Undo takes it in again."""
        self._page.side.take_up(None)
        self._page.put(self._page.state.without_file(file), anyway=True)

"""What is done about sizes: working in another one, and finding the one for a body."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from app.documents import with_size
from app.session import with_garment
from geometry.sizing import Body

if TYPE_CHECKING:
    from app.documents import Document
    from app.window.window import MainWindow


class SizeActs:
    """The size control of the table, and “Which size?”. What was measured is remembered while the window is open."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self.measured: dict[str, Body] = {}

    def does(self) -> dict[str, Callable[[], None]]:
        """What each action of the table does."""
        return {"which_size": self.ask, "size_table": self.write_table}

    def work_in(self, size: str) -> None:
        """Work the garment in another of its sizes; the notes are done to that."""
        document: Document | None = self._window.session.document
        if document is not None:
            self._window.note_acts.settle()
            self._take(with_size(document, size))

    def ask(self) -> None:
        """Say what a body measures, and which size it wants; she may work in that."""
        from app.window.size_dialog import SizeDialog

        window = self._window
        window.note_acts.settle()
        document: Document | None = window.session.document
        if document is None:
            return
        garment = document.garment
        if garment.size_table is None:
            window.notices.say(
                f"“{garment.name}” has no table that says what body its sizes are for.",
                wrong=True,
                buttons=(("Write it…", self.write_table),),
            )
            return
        dialog = SizeDialog(window, document, window.preferences.units, self.measured.get(garment.id))
        dialog.exec()
        self.measured[garment.id] = dialog.body()
        if dialog.taken is not None:
            self._take(dialog.taken)

    def write_table(self) -> None:
        """Write down what body each size is for, or take the table of another garment."""
        from app.window.garment_acts import GARMENT_FILES
        from app.window.size_table_dialog import SizeTableDialog

        window = self._window
        window.note_acts.settle()
        document: Document | None = window.session.document
        if document is None:
            return
        units, folder = window.preferences.units, window.garment_acts.folder()
        dialog = SizeTableDialog(window, document.garment, units, folder, GARMENT_FILES)
        dialog.exec()
        if dialog.taken is not None:
            window.change(with_garment(document, dialog.taken), "write the table of sizes")

    def _take(self, changed: Document) -> None:
        window = self._window
        before: Document | None = window.session.document
        if before is None or changed is before:
            return
        written = changed.notes[len(before.notes) :]
        if window.change(changed, f"work in size {changed.garment.size}"):
            if written:
                window.strip.choose(written[0].id)
            window.table.fit()

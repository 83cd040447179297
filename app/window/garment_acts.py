"""What is done with a whole garment: opened, saved, printed, exported, put away, got back."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, cast

from PySide6.QtCore import QTimer, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QDialog, QFileDialog

from app import printing
from app.documents import Document, PaperName, Settings
from app.session import ENDING, ChangedOnDisk, Recovered, forget, with_garment
from app.truing_acts import said_of
from app.window.end_cards import ALLOWANCES, PAPER, TRACED
from app.window.file_names import Button, ask, file_name, named, sheets_named
from app.window.seams_words import CORNER_WORDS
from app.window.worker import Work
from geometry import papers
from geometry.errors import PatternError

if TYPE_CHECKING:
    from app.window.window import MainWindow

#: The ending of kept notes.
KEPT = ".notes.json"
FIRST_SAMPLE = "undershirt.garment.json"
GARMENT_FILES = f"Garments (*{ENDING});;All files (*)"
_TO_OPEN = f"Garments, drawings and pictures (*{ENDING} {{traced}});;All files (*)"
_PAGES_AFTER_MS = 700


class GarmentActs:
    """The Garment menu, and what the end cards of the strip open."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._work: Work | None = None
        self._counting = QTimer()
        self._counting.setSingleShot(True)
        self._counting.setInterval(_PAGES_AFTER_MS)
        self._counting.timeout.connect(self.count_pages)
        self._counted: tuple[object, object] | None = None

    def does(self) -> dict[str, Callable[[], None]]:
        """What each action of the table does."""
        return {
            "open": self.ask_what_to_open,
            "sample": self.ask_which_sample,
            "markers": self.save_markers,
            "save": lambda: (self.save(), None)[1],
            "save_as": lambda: (self.save_as(), None)[1],
            "print": self.print_pages,
            "export": self.export,
            "clear": self.clear,
        }

    # -- opening ---------------------------------------------------------------------------------------------------

    def open_first(self, path: Path | None) -> None:
        """What the window opens with: the garment named, or the sample; work that was not saved is offered."""
        recoverable = self._window.session.recoverable()
        opened = self.open_sample(FIRST_SAMPLE) if path is None else self.open_paths([path])
        if recoverable and opened:
            self._offer_recovery(recoverable[-1])

    def open_paths(self, paths: Sequence[Path]) -> bool:
        """Open a garment file, or the page on which drawings and pictures are traced in."""
        from app.window.tracing_in import is_traced_in, trace_in

        traced = [path for path in paths if is_traced_in(path)]
        if traced and len(traced) == len(paths):
            return trace_in(self._window, traced) is not None
        return self.may_let_go() and self.open_path(next(path for path in paths if path not in traced))

    def begin(self, document: Document) -> bool:
        """Put a garment on the table that no file holds yet."""
        return self._try(lambda: self._window.session.begin(document))

    def open_path(self, path: Path) -> bool:
        """Open a garment file; what is open stays, and one sentence says why, when it cannot be."""

        def read() -> None:
            try:
                self._window.session.open(path)
            except PatternError as error:
                if path.suffix.lower() == ".json" or not path.is_file():
                    raise
                raise PatternError(
                    f"“{path.name}” is no garment, drawing or picture; open a garment (*{ENDING}), an SVG, DXF or PDF, "
                    "or a photo or scan."
                ) from error

        return self._try(read)

    def open_sample(self, name: str) -> bool:
        """Open one of the garments that come with the program, as one that has no file yet."""

        def begin() -> None:
            import sample_pieces
            from app.files import garment_file, safely

            data = safely.read_bytes(sample_pieces.path(name), garment_file.LARGEST)
            self._window.session.begin(garment_file.read_bytes(data, name, shipped=True), saved=True)

        return self._try(begin)

    def open_dropped(self, files: Sequence[str]) -> None:
        """Open the files that were dropped on the window; kept notes are done to what is open."""
        if files and files[0].lower().endswith(KEPT) and self._window.session.document is not None:
            self._window.kept_notes_acts.do(Path(files[0]))
        elif files:
            self.open_paths([Path(name) for name in files])

    def ask_what_to_open(self) -> None:
        from app.window.trace_files import TRACED_IN

        kinds = _TO_OPEN.format(traced=" ".join(f"*{ending}" for ending in TRACED_IN))
        names, _ = QFileDialog.getOpenFileNames(self._window, "Open", self.folder(), kinds)
        if names:
            self.open_paths([Path(name) for name in names])

    def ask_which_sample(self) -> None:
        from app.window.sample_dialog import ask_for_sample

        name = ask_for_sample(self._window)
        if name is not None and self.may_let_go():
            self.open_sample(name)

    def save_markers(self) -> None:
        from app.window.tracing_in import save_markers

        save_markers(self._window)

    def clear(self) -> None:
        """Put the garment away."""
        if self.may_let_go():
            self._window.session.close()
            self._window.notices.hide()
            self._window.started_anew()

    def _try(self, act: Callable[[], None]) -> bool:
        window = self._window
        try:
            act()
        except PatternError as error:
            kept = " What was open is still here." if window.session.document is not None else ""
            window.notices.say(error.says + kept, wrong=True)
            window.refresh()
            return False
        window.notices.hide()
        window.started_anew()
        return True

    def _offer_recovery(self, found: Recovered) -> None:
        of = f"“{found.path.name}”" if found.path is not None else "a garment that had no file yet"
        self._window.notices.say(
            f"There is work on {of} that was not saved when the window last went away.",
            buttons=(("Get it back", lambda: self._recover(found)), ("Throw it away", lambda: forget(found))),
        )

    def _recover(self, found: Recovered) -> None:
        if self.may_let_go():
            self._try(lambda: self._window.session.recover(found))

    # -- saving ----------------------------------------------------------------------------------------------------

    def save(self) -> bool:
        """Save; asks for a name where there is none yet, and before it writes over what somebody else wrote."""
        self._window.note_acts.settle()
        if self._window.session.path is None:
            return self.save_as()
        try:
            self._window.session.save(settings=self._settings())
        except ChangedOnDisk as error:
            return self._ask_over(error)
        except PatternError as error:
            self._window.notices.say(error.says, wrong=True)
            return False
        return self._saved()

    def save_as(self) -> bool:
        self._window.note_acts.settle()
        path = self._ask_where_to_save()
        if path is None:
            return False
        try:
            self._window.session.save(path, settings=self._settings(), over_changes=True)
        except PatternError as error:
            self._window.notices.say(error.says, wrong=True)
            return False
        return self._saved()

    def may_let_go(self) -> bool:
        """Whether what is open may be put away; asks when it holds work that is not saved."""
        self._window.note_acts.settle()
        if not self._window.session.unsaved:
            return True
        answer = ask(
            self._window,
            "The last changes are not saved.", "Save them before it is put away?",
            {Button.Save: "Save", Button.Discard: "Give them up", Button.Cancel: "Stay here"},
        )
        if answer == Button.Save:
            return self.save()
        return bool(answer == Button.Discard)

    def _ask_over(self, error: ChangedOnDisk) -> bool:
        answer = ask(
            self._window,
            error.says, "Saving over it loses what they changed.",
            {Button.Save: "Save under another name", Button.Discard: "Save over it", Button.Cancel: "Do not save"},
        )
        if answer == Button.Save:
            return self.save_as()
        if answer == Button.Discard:
            try:
                self._window.session.save(settings=self._settings(), over_changes=True)
            except PatternError as refused:
                self._window.notices.say(refused.says, wrong=True)
                return False
            return self._saved()
        return False

    def _saved(self) -> bool:
        self._window.stack.setClean()
        self._window.statusBar().showMessage(f"Saved {self._window.session.path}", 6_000)
        self._window.refresh()
        return True

    def _ask_where_to_save(self) -> Path | None:
        session = self._window.session
        proposed = session.path or Path(self.folder()) / (file_name(session.garment.name) + ENDING)
        name, _ = QFileDialog.getSaveFileName(self._window, "Save the garment", str(proposed), GARMENT_FILES)
        return named(self._window, name, ENDING, ".json")

    def _settings(self) -> Settings:
        preferences = self._window.preferences
        paper = preferences.paper if preferences.paper in papers.PAPERS else "a4"
        return Settings(preferences.units, cast(PaperName, paper))

    def folder(self) -> str:
        """The folder in which a file dialog opens."""
        path = self._window.session.path
        return str(path.parent if path is not None else Path.home())

    # -- how it stands ---------------------------------------------------------------------------------------------

    def say_title(self) -> None:
        """Say in the title and above the table which garment it is and whether it is saved."""
        session, window = self._window.session, self._window
        if session.document is None:
            window.top.say("Tuck & True", "nothing on the table")
            window.setWindowTitle("Tuck & True")
            return
        garment = session.garment
        saved = "not saved" if session.unsaved else ("saved" if session.path is not None else "a sample, no file yet")
        window.top.say(garment.name, " · ".join(text for text in (garment.for_whom, saved) if text))
        window.setWindowTitle(f"{garment.name}{' (not saved)' if session.unsaved else ''}")
        window.setWindowFilePath(str(session.path) if session.path is not None else "")

    def count_pages_soon(self) -> None:
        """Count the pages once the dialling has come to rest."""
        self._counting.start()

    def count_pages(self) -> None:
        from app.window.printing import count_words, settings_of

        window = self._window
        if window.draft is None:
            return
        key = (window.draft, settings_of(window.preferences))
        if self._counted is None or self._counted[0] is not key[0] or self._counted[1] != key[1]:
            self._counted = key
            self._count = count_words(window.draft, settings_of(window.preferences))
        window.strip.say_paper(self._count, window.draft, window.piece_id)

    # -- the end cards ---------------------------------------------------------------------------------------------

    def open_end(self, name: str) -> None:
        """What a click on an end card opens."""
        from app.window import garment_dialogs

        window = self._window
        if window.draft is None:
            return
        if name == PAPER:
            self.print_pages()
        elif name == TRACED:
            garment = garment_dialogs.ask_details(window, window.session.garment, window.preferences.units)
            self._take_garment(garment, "describe the garment")
        elif name == ALLOWANCES:
            garment = garment_dialogs.ask_widths(window, window.session.garment, window.preferences.units)
            self._take_garment(garment, "change the allowances")
        else:
            garment_dialogs.show_blends(window, window.draft, window.preferences.units)

    def accept_as_traced(self, seam_id: str) -> None:
        """Take a difference that was traced as it is."""
        window = self._window
        garment = window.session.garment
        walks = {walk.seam: walk.difference_mm for walk in window.session.draft.before}
        accepted = round(walks[seam_id], 3)
        seams = tuple(replace(s, accepted_mm=accepted) if s.id == seam_id else s for s in garment.seams)
        self._take_garment(replace(garment, seams=seams), "accept it as traced")

    def say_of_corner(self, corner_id: str, saying: str) -> None:
        """Say of a corner that it is meant to point, or that it is to run on."""
        document = self._window.session.document
        if document is not None:
            self._take_garment(said_of(document, corner_id, saying).garment, CORNER_WORDS[saying])

    def _take_garment(self, garment: Any, words: str) -> None:
        document = self._window.session.document
        if garment is not None and document is not None and garment is not document.garment:
            self._window.change(with_garment(document, garment), words)

    # -- pages and drawings ----------------------------------------------------------------------------------------

    def print_pages(self) -> None:
        from app.window.print_acts import print_pages

        print_pages(self._window)

    def export(self) -> None:
        """Choose what kind of drawing and write it."""
        from app.window.exporting import ExportDialog

        window = self._window
        if window.draft is None:
            return
        window.note_acts.settle()
        dialog = ExportDialog(window, window.draft, window.preferences.units)
        if dialog.exec() != QDialog.DialogCode.Accepted:
            return
        proposed = Path(self.folder()) / (file_name(window.session.garment.name) + dialog.ending())
        name, _ = QFileDialog.getSaveFileName(window, "Save the drawing", str(proposed), dialog.filter())
        out = named(window, name, dialog.ending())
        out = sheets_named(window, out) if out is not None and dialog.numbers_sheets() else out
        if out is not None:
            self.start_work("Drawing the pieces", "export", [*dialog.options(), "--out", str(out)])

    def start_work(
        self, says: str, command: str, options: list[str], files: Mapping[str, bytes] = MappingProxyType({})
    ) -> Work | None:
        """Start long work on the garment as it is now, with ``files`` as ``Work`` takes them; one at a time."""
        window = self._window
        document: Document | None = window.session.document
        if document is None or self._work is not None:
            return None
        saved = None if window.session.unsaved else window.session.path
        try:
            work = Work(says, document, command, options, files, saved)
        except PatternError as error:
            window.notices.say(error.says, wrong=True)
            return None
        self._work = work
        out = Path(options[-1])
        work.done.connect(lambda found: self._work_done(out, found))
        work.failed.connect(self._work_failed)
        work.stopped.connect(self._work_stopped)
        window.busy.begin(f"{says} … {out.name}", work.stop)
        return work

    def stop_work(self) -> None:
        if self._work is not None:
            self._work.stop()
            self._work.wait()

    def _work_done(self, out: Path, found: dict[str, Any]) -> None:
        self._work_over()
        if "sent_to" in found:
            self._window.notices.say(printing.sent_words(found))
            return
        written = found.get("files", [str(out)])
        files, out = ", ".join(written), Path(written[0])
        saved = printing.saved_words(found, files) if "pages" in found else f"The drawing was saved as {files}."
        self._window.notices.say(
            "\n".join([saved, *found.get("said", [])]),
            buttons=(("Open it", lambda: open_outside(out)), ("Show the folder", lambda: open_outside(out.parent))),
        )

    def _work_failed(self, says: str) -> None:
        self._work_over()
        self._window.notices.say(says, wrong=True)

    def _work_stopped(self) -> None:
        self._work_over()
        self._window.statusBar().showMessage("Stopped; nothing was written.", 6_000)

    def _work_over(self) -> None:
        if self._work is not None:
            self._work.deleteLater()
        self._work = None
        self._window.busy.over()


def open_outside(path: Path) -> None:
    """Show a file or folder with what the desktop opens it with."""
    QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))

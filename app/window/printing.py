"""The printing page: which paper and how its pages join, and the pieces on their sheets, laid as she wants them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QCoreApplication, Qt, QThread, QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app import outputs
from app.documents import Document
from app.laying import Laid, Laying
from app.laying_askew import LaidSoFar, asked_for
from app.long_work import LAYING_ASKEW
from app.print_choice import LaidFor, PrintChoice, laying_for
from app.window.arrangement_tools import ArrangementTools
from app.window.before_saving import lacking_label
from app.window.file_names import named
from app.window.long_work import LongWork
from app.window.look import em
from app.window.palette import LIGHT, Palette
from app.window.preferences import OWN_SIZE, Preferences
from app.window.print_options import PrintOptions
from app.window.printing_on import PrintingOn
from app.window.sheets_view import SheetsView
from geometry import papers
from geometry.arranging import alone
from geometry.errors import PatternError
from geometry.laid_by_hand import Arrangement
from geometry.papers import Paper
from geometry.pipeline import Draft
from geometry.sheets import Page, Sheet, SheetSettings, tile

#: The pieces are laid out closely when nothing was changed for so long.
COUNT_AFTER_MS = 250


def settings_of(preferences: Preferences) -> SheetSettings:
    """How the pages are cut, as she prefers it; upright where whichever takes fewer is preferred."""
    paper = Paper("your own size", *sorted((preferences.own_width, preferences.own_height)))
    paper = paper if preferences.paper == OWN_SIZE else papers.PAPERS[preferences.paper]
    lying = preferences.landscape and not preferences.either_way
    return SheetSettings(paper, preferences.margin, preferences.overlap, lying)


def pages_of(draft: Draft, settings: SheetSettings, *, closely: bool = True) -> tuple[Sheet, tuple[Page, ...]]:
    """The sheet and its pages, or quicker and less closely. Raises PatternError where they cannot be laid out."""
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


class _Laying(QThread):
    """Lays the pieces out away from the window. ``found`` holds the key and the laying, or why there is none."""

    def __init__(
        self, draft: Draft, choice: PrintChoice, by_hand: Mapping[LaidFor, Arrangement], beside: outputs.Beside,
        askew: Mapping[SheetSettings, Arrangement],
    ) -> None:
        super().__init__()
        self.choice = choice
        self._draft, self._by_hand, self._beside, self._askew = draft, dict(by_hand), beside, askew
        self.found: tuple[LaidFor, Laying] | PatternError | None = None

    def run(self) -> None:
        try:
            self.found = laying_for(self._draft, self.choice, self._by_hand, self._beside, self._askew)
        except PatternError as error:
            self.found = error

    def leave(self) -> None:
        """Nobody waits for it any more: let it come to its end by itself."""
        app = QCoreApplication.instance()
        if not self.isRunning() or app is None:
            self.wait()
            return
        self.setParent(app)
        app.aboutToQuit.connect(self.wait)
        self.finished.connect(self.deleteLater)


class PrintDialog(QDialog):
    """Paper and pages with the pieces on them; accepted when she wants them saved.

    ``by_hand`` is how they were arranged by hand before; ``arrangements`` gives it back with what was changed here.
    """

    laid = Signal()

    def __init__(
        self, parent: QWidget, draft: Draft, preferences: Preferences,
        by_hand: Mapping[LaidFor, Arrangement] | None = None, beside: outputs.Beside = outputs.ALONE,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Print pages")
        self._draft, self._beside = draft, beside
        self._by_hand = dict(by_hand or {})
        self._known: dict[PrintChoice, tuple[LaidFor, Laying]] = {}
        self._now: tuple[LaidFor, Laying] | None = None
        self._alone = 0
        has_fold = any(piece.on_fold for piece in draft.redrawn.pieces)
        self.asks = PrintOptions(preferences, has_fold=has_fold)
        self._says = QLabel()
        self._says.setWordWrap(True)
        self._says.setAlignment(Qt.AlignmentFlag.AlignBottom)
        self._says.setMinimumHeight(self._says.fontMetrics().lineSpacing() * 2)
        self._says.setProperty("role", "heading")
        self._save = QPushButton()
        self.stop = QPushButton("Stop: take the best so far")
        self.stop.setToolTip("Fewer sheets might still be found; the best arrangement so far is shown")
        self.stop.setAutoDefault(False)
        self.printing = PrintingOn(lambda: str(self.asks.preferred()["paper"]))
        self.view = SheetsView(_palette(parent))
        self.tools = ArrangementTools(self.view)
        self._thread: _Laying | None = None
        self._search: LongWork | None = None
        self._counting = QTimer(self, interval=COUNT_AFTER_MS, singleShot=True)
        self._counting.timeout.connect(self._count)
        self._lay_out()
        self._connect()
        self._say_busy()

    # -- what it comes to --------------------------------------------------------------------------------------------

    def preferred(self) -> dict[str, object]:
        """What she chose, by the names of the preferences."""
        return self.asks.preferred()

    def options(self) -> list[str]:
        """The same for the command line."""
        settings = self._now[0].settings if self._now else self.asks.choice().settings()[0]
        return self.asks.choice().options(settings)

    def files(self) -> dict[str, bytes]:
        """What else the command line is given: how the pieces lie, so that what was seen is printed."""
        from app.files.arrangement_file import to_bytes

        if self._now is None:
            return {}
        return {"--arrangement": to_bytes(self._now[1].now.arrangement, self._draft.garment.name)}

    def arrangements(self) -> dict[LaidFor, Arrangement]:
        """How pieces were laid by hand, by what for."""
        found = dict(self._by_hand)
        for key, laying in self._known.values():
            if laying.by_hand:
                found[key] = laying.now.arrangement
            else:
                found.pop(key, None)
        return found

    def words(self) -> str:
        return self._says.text()

    def done(self, result: int) -> None:
        self._counting.stop()
        self._leave_search()
        if self._thread is not None:
            self._thread.finished.disconnect(self._found)
            self._thread.leave()
            self._thread = None
        super().done(result)

    # -- its parts ---------------------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        advice = QLabel(
            "The first page carries a square of 100 mm and one of 4 in: print it alone, measure it, and print the rest "
            "only when it is right. Print at 100 %, never “fit to page”."
        )
        advice.setWordWrap(True)
        advice.setProperty("role", "quiet")
        side = QWidget()
        left = QVBoxLayout(side)
        left.setContentsMargins(0, 0, em() // 2, 0)
        left.setSpacing(em() // 2)
        for widget in (self.asks, lacking_label(self._draft)):
            left.addWidget(widget)
        left.addStretch(1)
        left.addWidget(advice)
        scrolled = QScrollArea()
        scrolled.setWidgetResizable(True)
        scrolled.setWidget(side)
        scrolled.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scrolled.setFixedWidth(em() * 20)
        self._save.setProperty("role", "main")
        self._save.clicked.connect(self.accept)
        self._save.setDefault(True)
        leave = QPushButton("Not now")
        leave.clicked.connect(self.reject)
        buttons = QHBoxLayout()
        buttons.addWidget(self.printing)
        buttons.addStretch(1)
        for button in (leave, self._save):
            buttons.addWidget(button, 0, Qt.AlignmentFlag.AlignBottom)
        right = QVBoxLayout()
        right.setSpacing(em() // 2)
        said = QHBoxLayout()
        said.addWidget(self._says, 1)
        said.addWidget(self.stop, 0, Qt.AlignmentFlag.AlignBottom)
        self.stop.hide()
        right.addLayout(said)
        right.addWidget(self.tools)
        right.addWidget(self.view, 1)
        right.addWidget(self.tools.hint)
        middle = QHBoxLayout()
        middle.setSpacing(em())
        middle.addWidget(scrolled)
        middle.addLayout(right, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em())
        layout.addLayout(middle, 1)
        layout.addLayout(buttons)
        self.resize(em() * 64, min(em() * 48, self.screen().availableGeometry().height() - 4 * em()))

    def _connect(self) -> None:
        self.asks.changed.connect(self._count_anew)
        self.asks.pages_changed.connect(self._say)
        self.stop.clicked.connect(self._stop_search)
        self.printing.changed.connect(lambda: self._save.setText(self.printing.act()))
        self._save.setText(self.printing.act())
        self.view.changed.connect(self._say)
        self.view.looked.connect(self._say)
        self.view.page_clicked.connect(self.asks.add_or_take)
        self.tools.changed.connect(self._say)
        self.tools.save_asked.connect(self._save_arrangement)
        self.tools.open_asked.connect(self._open_arrangement)

    # -- laying out --------------------------------------------------------------------------------------------------

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._counting.start()

    def _say_busy(self) -> None:
        self._says.setText("Laying the pieces out…")
        self._save.setEnabled(False)

    def _count_anew(self) -> None:
        self._leave_search()
        self._say_busy()
        self._counting.start()

    def _count(self) -> None:
        """Show what is chosen now; where it was not laid out yet, begin, unless something is being laid out."""
        try:
            choice = replace(self.asks.choice(), again="")
            choice.settings()
        except PatternError as error:
            self._refuse(error)
            return
        if choice in self._known:
            self._show(*self._known[choice])
        elif self._thread is None and self._search is None:
            if choice.freely:
                self._seek(choice)
            else:
                self._start(choice, {})

    def _start(self, choice: PrintChoice, askew: Mapping[SheetSettings, Arrangement]) -> None:
        self._thread = _Laying(self._draft, choice, self._by_hand, self._beside, askew)
        self._thread.finished.connect(self._found)
        self._thread.start()

    def _seek(self, choice: PrintChoice) -> None:
        """Look for how pieces lie askew on few sheets, in a process of its own."""
        notes = tuple(step.note for step in self._draft.followed.steps)
        laid = LaidSoFar(choice)

        def hear(line: dict[str, Any]) -> None:
            laid.take(line)
            self._says.setText(laid.words())

        document = Document(self._draft.garment, notes)
        self._search = LongWork(LAYING_ASKEW, document, asked_for(choice, self._beside), self)
        self._search.said.connect(hear)
        self._search.ended.connect(lambda _: self._sought(choice, laid.best))
        self.stop.show()

    def _sought(self, choice: PrintChoice, found: Mapping[SheetSettings, Arrangement]) -> None:
        self._search = None
        self.stop.hide()
        self._start(choice, found)

    def _stop_search(self) -> None:
        if self._search is not None:
            self._search.stop()

    def _leave_search(self) -> None:
        if self._search is not None:
            self._search.leave()
        self._search = None
        self.stop.hide()

    def _found(self) -> None:
        thread, self._thread = self._thread, None
        assert thread is not None
        thread.wait()
        if isinstance(thread.found, PatternError):
            if thread.choice == replace(self.asks.choice(), again=""):
                self._refuse(thread.found)
                return
        elif thread.found is not None:
            self._known[thread.choice] = thread.found
        self._count()

    def _refuse(self, error: PatternError) -> None:
        self._now = None
        self._says.setText(f"! {error.says}")
        self.tools.show_laying(None)
        self._save.setEnabled(False)

    def _show(self, key: LaidFor, laying: Laying) -> None:
        self._now = (key, laying)
        self._alone = alone(laying.drawings, laying.settings)
        self.tools.show_laying(laying)
        self._say()
        self.laid.emit()

    def _say(self, trial: Laid | None = None) -> None:
        """How many sheets it takes as the pieces lie, or would lie while one is dragged; or why it is not printed."""
        if self._now is None:
            return
        laying = self._now[1]
        laid = trial or laying.now
        self.tools.show_state()
        refused = laid.refused()
        try:
            again = self.asks.choice().names()
            unknown = sorted((again or set()) - {page.name for page in laid.pages if not page.skipped})
            if unknown:
                raise PatternError(f"There is no page {unknown[0]} to print.")
        except PatternError as error:
            again, refused = None, refused or error.says
        self.view.show_again(again)
        self._says.setText(f"! {refused}" if refused else self._count_said(laid, again))
        self._save.setEnabled(not refused and trial is None)

    def _count_said(self, laid: Laid, again: frozenset[str] | None) -> str:
        assert self._now is not None
        laying = self._now[1]
        lying = ", landscape" if laying.settings.landscape else ""
        count = f"{laid.sheets} sheet{'s' * (laid.sheets != 1)} of {laying.settings.paper.name}{lying}"
        if laid.arrangement != laying.own.arrangement:
            count += f", laid by hand; {laying.own.sheets} as the program lays them"
        elif self._alone > laid.sheets:
            count += f" instead of {self._alone} with each piece by itself"
        if again is not None:
            return f"{count}. {len(again)} of them {'is' if len(again) == 1 else 'are'} printed again."
        return f"{count}, and a first page."

    # -- files -------------------------------------------------------------------------------------------------------

    def _save_arrangement(self) -> None:
        from app.files.arrangement_file import ENDING, save_file

        if self._now is None:
            return
        name, _ = QFileDialog.getSaveFileName(self, "Save the arrangement", f"mine{ENDING}", f"Files (*{ENDING})")
        path = named(self, name, ENDING)
        if path is not None:
            self._try(lambda laying: save_file(path, laying.now.arrangement, self._draft.garment.name))

    def _open_arrangement(self) -> None:
        from app.files.arrangement_file import open_file

        name, _ = QFileDialog.getOpenFileName(self, "Open an arrangement", "", "Files (*.json)")
        if name:
            self._try(lambda laying: laying.take(open_file(name)))
            self.view.look_anew()

    def _try(self, act: object) -> None:
        """Do something with the arrangement; why it cannot be done stands where the sheets are counted."""
        if self._now is None or not callable(act):
            return
        try:
            act(self._now[1])
        except PatternError as error:
            self._says.setText(f"! {error.says}")
            return
        self._say()


def _palette(parent: QWidget) -> Palette:
    found = getattr(parent, "colours", LIGHT)
    assert isinstance(found, Palette)
    return found

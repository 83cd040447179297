"""One pass from a drawing or a picture to a garment: the file always in view, what is asked beside it, all undoable."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QCloseEvent, QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from app.tracing.answering import Pass, begun, rescue_questions
from app.tracing.found import Found, FoundPicture
from app.tracing.laid_over import laid_over
from app.tracing.questions import Answers
from app.tracing.reading import name_after
from app.tracing.tracing import Traced
from app.window.file_names import Button, ask
from app.window.look import em
from app.window.notices import NoticeBar
from app.window.palette import Palette
from app.window.trace_acts import TraceActs
from app.window.trace_answers import AnswerSide
from app.window.trace_files import FileActs, TakesDrops
from app.window.trace_foot import TraceFoot
from app.window.trace_joining import PictureJoining
from app.window.trace_photo import Changes
from app.window.trace_picture import Under, under
from app.window.trace_side import PictureSide
from app.window.trace_tools import OutlineTool
from app.window.trace_trim import TrimFrame
from app.window.trace_words import refused_words, source_words
from app.window.trace_work import Given, Refusal, Result, TraceWork
from geometry.garments import Garment
from geometry.units import System

#: Answers to these may make other pieces, of which nothing was answered yet.
_OTHER_PIECES = ("layers", "size", "hidden", "pages", "grid")


class TracePage(TakesDrops):
    """``takes`` is handed the garment when she takes it in; the page stays where it says False. More files are looked
    for in a ``folder``."""

    def __init__(
        self,
        parent: QWidget | None,
        files: Sequence[Given],
        system: System,
        palette: Palette,
        takes: Callable[[Garment], bool],
        folder: str = "",
    ) -> None:
        super().__init__(parent)
        self._files, self._system, self._takes = tuple(files), system, takes
        self._states = [begun(name_after(Path(self._files[0].name)), len(self._files))]
        self._at, self._file, self._came_from, self._adding = 0, 0, 0, False
        self._result: Result | None = None
        self._refusal: Refusal | None = None
        self._afterwards: tuple[Pass, Callable[[], None]] | None = None
        self._work = TraceWork(self._files, self)
        self.side = PictureSide(system, palette)
        self.picture, self.source_says = self.side.picture, self.side.source_says
        self.right = AnswerSide(self._states[0].garment)
        self.photo, self.questions, self.seams = self.right.photo, self.right.questions, self.right.seams
        self.name_field, self.open_says = self.right.name_field, self.right.open_says
        self.missing_says, self.found_says = self.right.missing_says, self.right.found_says
        self.notice = NoticeBar()
        self.setWindowTitle("Trace a piece in")
        shown = parent or self
        room = (self.screen().availableSize() - (shown.frameSize() - shown.size())).expandedTo(shown.size())
        self.resize(QSize(em() * 92, em() * 54).boundedTo(room))
        self._lay_out()
        self._connect()
        self.acts, self.joining, self.trim = TraceActs(self), PictureJoining(self), TrimFrame(self)
        self.more = FileActs(self, folder)
        self.right.area.hide()
        self._show_tabs()
        self.picture.setFocus(Qt.FocusReason.OtherFocusReason)
        self._recompute()

    # -- putting it together ---------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        foot = self._foot = TraceFoot()
        self.busy_says, self.busy_stop, self.leave_button = foot.busy_says, foot.stop, foot.leave
        self.undo_button, self.redo_button = foot.undo, foot.redo
        self.confirm_button, self.take_button = foot.confirm, foot.take
        split = QSplitter(Qt.Orientation.Horizontal)
        split.setChildrenCollapsible(False)
        split.addWidget(self.side)
        split.addWidget(self.right)
        for place, share in ((0, 2), (1, 1)):
            split.setStretchFactor(place, share)
        split.setSizes([round(self.width() * 0.64), round(self.width() * 0.36)])
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em() // 2, em() // 2, em() // 2, em() // 2)
        layout.addWidget(self.notice)
        layout.addWidget(split, 1)
        layout.addWidget(foot)

    def _connect(self) -> None:
        self._work.reading.connect(
            lambda name, step: self._say_busy(f"Reading {name}: {step}." if step else f"Reading {name}…")
        )
        self._work.tracing.connect(lambda: self._say_busy("Working out the pieces…"))
        self._work.seen.connect(self._show_read)
        self._work.done.connect(self._done)
        self._work.refused.connect(self._refused)
        self._work.stopped.connect(self._stopped)
        self.busy_stop.clicked.connect(self._work.stop)
        self.questions.answered.connect(self.answer)
        self.questions.pointed.connect(self.picture.choose)
        self.picture.edge_picked.connect(self.questions.point_at)
        self.undo_button.clicked.connect(self.undo)
        self.redo_button.clicked.connect(self.redo)
        self.confirm_button.clicked.connect(self.confirm_all)
        self.take_button.clicked.connect(self._take)
        self.leave_button.clicked.connect(self.leave)
        self.name_field.editingFinished.connect(self._name)
        self.side.file_picked.connect(self.show_file)
        self.seams.sewn.connect(lambda seam, wanted: self.put(self.state.sewn(seam, wanted)))
        self.photo.changed.connect(self.change)
        self.photo.takes_up.connect(self.side.take_up)
        self.photo.said.connect(lambda says: self.notice.say(says, wrong=True))
        for keys, does in (("Ctrl+Z", self.undo), ("Ctrl+Shift+Z", self.redo)):
            QShortcut(QKeySequence(keys), self).activated.connect(does)

    # -- answering -------------------------------------------------------------------------------------------------

    @property
    def state(self) -> Pass:
        return self._states[self._at]

    @property
    def outcome(self) -> Result | None:
        """What follows from the answers as they stand, None while it is worked out or where it was refused."""
        return self._result

    @property
    def file(self) -> int:
        """The place of the file that is shown."""
        return self._file

    def name_of(self, file: int) -> str:
        """What a file is called, with those that are joined to it."""
        return " + ".join(self._files[place].name for place in (file, *self.state.joined_to(file)))

    def picture_of(self, file: int) -> FoundPicture | None:
        """The photo or scan of a file, None for a drawing or where it is not read yet."""
        return self._work.picture(file)

    def is_drawing(self, file: int) -> bool:
        """Whether a file was read as a drawing."""
        return self._work.found(file) is not None and self._work.picture(file) is None

    @property
    def shown_picture(self) -> FoundPicture | None:
        """The photo or scan that is shown, None for a drawing."""
        return self._work.picture(self._file)

    @property
    def answers(self) -> Answers:
        """The answers about the file that is shown."""
        return self.state.files[self._file]

    @property
    def traced(self) -> Traced | None:
        """The pieces of the file that is shown, None while they are worked out or where they were refused."""
        return None if self._result is None else self._result.traced[self._file]

    @property
    def is_busy(self) -> bool:
        return self._work.is_busy

    def answer(self, key: str, value: str) -> None:
        """Answer a question of the file that is shown."""
        state = self.state
        if key in _OTHER_PIECES:
            state = state.without_pieces(self._file)
        self.put(state.answered(self._file, key, value))

    def change(self, changes: Changes, *, leave: bool = True) -> None:
        """Give several answers about the file that is shown, or take them away, in one step; ``leave`` what was being
        done in the picture."""
        if leave:
            self.side.take_up(None)
        state = self.state.changed(self._file, changes)
        if state != self.state:
            self.put(state)

    def confirm_all(self) -> None:
        """Confirm everything that stands as it was taken, in every file."""
        if self._result is None:
            return
        state = self.state
        for file, traced in self._result.traced.items():
            state = state.confirmed(file, traced)
        if state != self.state:
            self.put(state)

    def undo(self) -> None:
        """Take the last answer back, or the last point that is being set."""
        if self.picture.tool is not None and self.picture.tool.back():
            return
        if self._at > 0:
            self._at -= 1
            self._recompute()

    def redo(self) -> None:
        """Answer so after all."""
        if self._at < len(self._states) - 1:
            self._at += 1
            self._recompute()

    def show_file(self, file: int) -> None:
        """Show another of the files with its questions."""
        self._file = file
        self.side.take_up(None)
        self._show()

    def _name(self) -> None:
        name = self.name_field.text().strip()
        if name and name != self.state.garment:
            self.put(self.state.called(name))

    def put(self, state: Pass, *, anyway: bool = False) -> None:
        """Go on with another state, ``anyway`` even where no piece follows from it; Undo comes back to this one."""
        self._states = [*self._states[: self._at + 1], state]
        self._at += 1
        self._recompute(answered=not anyway)

    def add_files(self, files: Sequence[Given]) -> None:
        """Take more files in and show the first of them. Undo takes them off again, and so does a file of which nothing
        can be read; one that only wants more answers stays."""
        count = len(self.state.files)
        self._files = (*self._files[:count], *files)
        self._work.files_are(self._files, count)
        self._came_from, self._file = self._file, count
        self.put(self.state.with_more(len(files)))
        self._adding = True

    def after(self, state: Pass, does: Callable[[], None]) -> None:
        """Do something once the pieces of a state are shown, unless another comes before."""
        self._afterwards = (state, does)

    # -- what follows ----------------------------------------------------------------------------------------------

    def _recompute(self, *, answered: bool = False) -> None:
        self._answered, self._adding = answered and self._refusal is None, False
        self._result = None
        self._say_busy("Working out the pieces…")
        self._can()
        self._work.start(self.state)
        # What was being set on the file as it stood before cannot be ended on it as it is now.
        if self.picture.tool is not None and not isinstance(self.picture.tool, OutlineTool):
            self.side.take_up(None)

    def look(self, answers: Answers, then: Callable[[Found], None]) -> None:
        """Read the file that is shown with other answers only to look at it."""
        self._answered = False

        def seen(found: Found) -> None:
            self._say_busy("")
            then(found)

        self._work.look(self._file, answers, seen)

    def show_again(self) -> None:
        """Show the file as it stands, unless that is being worked out."""
        if not self.is_busy:
            self._show()

    def _done(self, result: Result) -> None:
        self._result, self._refusal = result, None
        self.notice.hide()
        self._show()
        if self._afterwards is not None:
            (state, does), self._afterwards = self._afterwards, None
            if state is result.state:
                does()

    def _refused(self, refusal: Refusal) -> None:
        """Say it; an answer that cannot be taken is taken back, so that what was shown stays."""
        hopeless = refusal.found is None and self._work.picture(refusal.file) is None
        if self._answered and (hopeless or not self._adding):
            self._file = self._came_from if self._adding else self._file
            self._states = self._states[: self._at]
            self._at -= 1
            self._recompute()
            self.after(self.state, lambda: self._say_refused(refusal))
            return
        self._refusal = refusal
        if self.traced is None and self._work.picture(self._file) is None:
            self._file = refusal.file
        self._show()
        self._say_refused(refusal)

    def _say_refused(self, refusal: Refusal) -> None:
        says = refused_words(refusal.says, self._work.picture(refusal.file), parts=bool(self.joining.offered()))
        several = refusal.file in self.state.shown and len(self.state.shown) > 1
        self.notice.say(
            says, wrong=True,
            buttons=(("Leave that file out", lambda: self.more.leave_out(refusal.file)),) if several else (),
        )

    def _stopped(self) -> None:
        self._refusal = Refusal("It was stopped.", self._file)
        self._show()
        self.notice.say(self._refusal.says, wrong=True, buttons=(("Go on", self._recompute),))

    def _show(self) -> None:
        self._say_busy("")
        self.right.area.show()
        self._show_tabs()
        self._show_photo()
        self.name_field.setText(self.state.garment)
        found = self._work.found(self._file)
        result = self._result
        if result is not None:
            traced = result.traced[self._file]
            pieces = tuple(laid_over(one) for one in traced.pieces)
            self.picture.show_found(found, pieces, self._under())
            self.right.show_result(result, traced, self._system)
            self.source_says.setText(source_words(traced, self._system))
        else:
            refusal = self._refusal
            refused = refusal.found if refusal is not None and refusal.file == self._file else None
            alone = None if refusal is None else refusal.traced.get(self._file)
            pieces = () if alone is None else tuple(laid_over(one) for one in alone.pieces)
            self.picture.show_found(refused or found, pieces, self._under())
            rescue = () if refused is None else rescue_questions(refused, self.answers)
            self.right.show_refused(alone, rescue, self._system)
            self.source_says.setText("")
        self._can()

    def _show_tabs(self) -> None:
        if self._file not in self.state.shown:
            shown = self.state.shown
            self._file = next((one for one in shown if self._file in self.state.joined_to(one)), shown[-1])
        self.side.show_files({file: self.name_of(file) for file in self.state.shown}, self._file)

    def _show_photo(self) -> None:
        """The controls that only a photo or scan has; handles stand on the outline as it is now."""
        picture = self.shown_picture
        self.photo.setVisible(picture is not None)
        if picture is not None:
            self.photo.show_answers(self.answers, picture)
        joined = self.state.pictures(self._file)
        self.photo.show_joined([self._files[other].name for other in joined], self.answers)
        beside = [self._files[other].name for other in self.state.beside(self._file)]
        self.side.offer_files(self.joining.offered(), drawings=picture is None, joined="".join(beside[-1:]))
        can = picture is not None and self._result is not None
        self.side.correct_button.setVisible(can)
        for button in (self.side.mark_button, self.side.corner_button):
            button.setVisible(self._result is not None)
        found = self._work.found(self._file) or (self._refusal.found if self._refusal is not None else None)
        self.side.trim_button.setVisible(found is not None and bool(found.pages))
        several = self._result is not None and len(self._result.traced[self._file].pieces) > 1
        self.side.join_button.setVisible(several)
        if isinstance(self.picture.tool, OutlineTool):
            self.side.take_up(None) if not can else self.acts.correct(True)

    def _under(self) -> Under | None:
        """The picture of the file that is shown, as far as it is known."""
        return None if self.shown_picture is None else under(self.shown_picture)

    def _show_read(self, file: int) -> None:
        """What was read of the file that is shown, while others are still read."""
        if file == self._file and self._result is None and self._refusal is None and self.picture.tool is None:
            self.picture.show_found(self._work.found(file), (), self._under())

    def _say_busy(self, words: str) -> None:
        self._foot.say_busy(words)
        self.picture.wait(words)

    def _can(self) -> None:
        self._foot.show_can(self._result, back=self._at > 0, forth=self._at < len(self._states) - 1)
        for button in self.side.buttons:
            button.setEnabled(self._result is not None)

    def _take(self) -> None:
        self._name()
        if self._result is not None and self._takes(self._result.garment):
            self.accept()

    def leave(self) -> None:
        """Put the page away; asks first where answers would be lost with it."""
        if self._may_leave():
            self.reject()

    def _may_leave(self) -> bool:
        if self._at == 0:
            return True
        answers = {Button.Cancel: "Stay here", Button.Discard: "Give them up"}
        return ask(self, "Your answers are not taken in yet.", "Give them up?", answers) == Button.Discard

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() != Qt.Key.Key_Escape:
            super().keyPressEvent(event)
        elif self.picture.tool is not None:
            self.side.take_up(None)
        else:
            self.leave()

    def done(self, how: int) -> None:
        self._work.wait()
        super().done(how)

    def closeEvent(self, event: QCloseEvent) -> None:
        if self.isVisible() and not self._may_leave():
            event.ignore()
            return
        self._work.wait()
        super().closeEvent(event)

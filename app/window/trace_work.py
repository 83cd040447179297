"""Reading and tracing away from the window: files are read in a process of its own, the pieces follow in a thread.

What was read is kept, so that neither an answer about a piece nor going back to an answer has the file read again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from PySide6.QtCore import QObject, QProcess, QThread, QTimer, Signal

from app.tracing.answering import Pass, as_confirmed
from app.tracing.beside import laid_beside
from app.tracing.found import Found, FoundPicture
from app.tracing.gathering import garment_of
from app.tracing.guarded import (
    ARGUMENTS,
    STEP,
    Turned,
    asked_of,
    not_started,
    outcome,
    seconds_for,
    too_long,
)
from app.tracing.questions import Answers
from app.tracing.tracing import Traced, trace
from app.window.apart import begin, end, process_for
from geometry.errors import PatternError
from geometry.garments import Garment

#: So many readings of one file are kept.
_KEPT = 8
#: Answers in an order of their own, by which a reading is found again.
_Key = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Given:
    """A file as it was given: its name and what it holds."""

    name: str
    data: bytes


@dataclass(frozen=True, eq=False)
class Refusal:
    """Why it cannot go on, and in which file; ``found`` is what was read of it, None where it could not be. ``traced``
    are the pieces, where each file has some and only all together make no garment."""

    says: str
    file: int
    found: Found | None = None
    traced: Mapping[int, Traced] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Result:
    """What follows from a state of the pass; ``traced`` by the place of the file, without pictures that are joined to
    another; ``proposed`` has every proposed seam, ``garment`` those not declined."""

    state: Pass
    traced: Mapping[int, Traced]
    proposed: Garment

    @property
    def each(self) -> tuple[Traced, ...]:
        return tuple(self.traced.values())

    @property
    def garment(self) -> Garment:
        seams = tuple(seam for seam in self.proposed.seams if seam.name not in self.state.declined)
        return replace(self.proposed, seams=seams)


class TraceWork(QObject):
    """One state of the pass after another. ``done`` brings a Result, ``refused`` a Refusal, ``reading`` a file's name
    and what is done to it, ``seen`` the place of a file that was read while more are to be, ``tracing`` says that all
    is read and the pieces are worked out."""

    reading = Signal(str, str)
    seen = Signal(int)
    tracing = Signal()
    done = Signal(object)
    refused = Signal(object)
    stopped = Signal()

    def __init__(self, files: Sequence[Given], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._files = tuple(files)
        self._read: list[dict[_Key, Found | Turned]] = [{} for _ in self._files]
        self._pictures: dict[int, FoundPicture] = {}
        self._seen: dict[int, Found] = {}
        self._state: Pass | None = None
        self._look: tuple[int, Answers, Callable[[Found], None]] | None = None
        self._process: QProcess | None = None
        self._thread: _Thread | None = None
        self._next: Mapping[int, Found] | None = None
        self._limit = QTimer(self)
        self._limit.setSingleShot(True)
        self._limit.timeout.connect(self._too_long)
        self._file = 0

    def files_are(self, files: Sequence[Given], new: int) -> None:
        """Go on with other files from the place ``new`` on; those before it are the same."""
        self._leave()
        self._files = tuple(files)
        self._read[new:] = [{} for _ in self._files[new:]]
        self._pictures = {file: picture for file, picture in self._pictures.items() if file < new}
        self._seen = {file: found for file, found in self._seen.items() if file < new}

    def found(self, file: int) -> Found | None:
        """What was read of a file last."""
        return self._seen.get(file)

    def picture(self, file: int) -> FoundPicture | None:
        """A file's picture, as far as reading it came last."""
        return self._pictures.get(file)

    @property
    def is_busy(self) -> bool:
        return self._state is not None or self._look is not None

    def look(self, file: int, changes: Answers, then: Callable[[Found], None]) -> None:
        """Read a file with other answers only to look at it; ``then`` is handed what was found."""
        self._leave()
        self._look = (file, changes, then)
        self._go_on()

    def start(self, state: Pass) -> None:
        """Leave what was on its way and work out another state."""
        self._leave()
        self._state = state
        self._go_on()

    def stop(self) -> None:
        """Leave it; nothing is brought but the word that it was stopped."""
        if self.is_busy:
            self._leave()
            self.stopped.emit()

    def wait(self) -> None:
        """Leave it, and wait until nothing runs any more."""
        self._leave()
        if self._thread is not None:
            self._thread.wait()

    def _leave(self) -> None:
        self._state = self._look = self._next = None
        self._limit.stop()
        if self._process is not None:
            process, self._process = self._process, None
            process.finished.disconnect()
            process.readyReadStandardError.disconnect()
            process.errorOccurred.disconnect()
            end(process)
            process.deleteLater()

    def _go_on(self) -> None:
        """Read what is not read yet; with one file refused, the others are still read, so that all can be seen."""
        if self._look is not None:
            self._go_on_looking(*self._look)
            return
        state = self._state
        assert state is not None
        founds: dict[int, Found] = {}
        refused: Refusal | None = None
        for file in state.shown:
            sheet: list[Found] = []
            for part in (file, *state.beside(file)):
                answers = state.reading(part)
                found = self._known(part, answers)
                if found is None:
                    for read in founds:
                        self.seen.emit(read)
                    self._begin_reading(part, answers, state.pictures(part))
                    return
                self._see(part, found.picture)
                if isinstance(found, Turned):
                    refused = refused or Refusal(found.says, file)
                else:
                    sheet.append(found)
            if len(sheet) > len(state.beside(file)):
                self._seen[file] = founds[file] = sheet[0] if len(sheet) == 1 else laid_beside(sheet)
        if refused is not None:
            self._refuse(refused)
        else:
            self._trace(founds)

    def _go_on_looking(self, file: int, answers: Answers, then: Callable[[Found], None]) -> None:
        found = self._known(file, answers)
        if found is None:
            self._begin_reading(file, answers, ())
            return
        self._look = None
        if isinstance(found, Turned):
            self.refused.emit(Refusal(found.says, file))
        else:
            then(found)

    def _known(self, file: int, answers: Answers) -> Found | Turned | None:
        """What was read of a file by these answers, or by fewer where all others only confirm what was taken."""
        kept = self._read[file]
        found = kept.get(_key(answers))
        if found is None:
            ways = (as_confirmed(one, dict(key), answers) for key, one in kept.items() if isinstance(one, Found))
            found = next((one for one in ways if one is not None), None)
            if found is not None:
                kept[_key(answers)] = found
        return found

    def _see(self, file: int, picture: FoundPicture | None) -> None:
        if picture is not None:
            self._pictures[file] = picture

    def _begin_reading(self, file: int, answers: Answers, joined: Sequence[int]) -> None:
        given = self._files[file]
        self._file, self._wanted = file, answers
        self.reading.emit(given.name, "")
        process = self._process = process_for(self)
        process.readyReadStandardError.connect(self._tell)
        process.finished.connect(self._finish_reading)
        process.errorOccurred.connect(self._break)
        further = [self._files[other].data for other in joined]
        begin(process, ARGUMENTS, asked_of(given.data, given.name, answers, further))
        self._limit.start(round(seconds_for(given.data) * 1000 * (1 + len(joined))))

    def _tell(self) -> None:
        """Pass on the step that the process said last."""
        if self._process is None:
            return
        said = bytes(self._process.readAllStandardError().data()).decode("utf-8", "replace").splitlines()
        steps = [line.removeprefix(STEP) for line in said if line.startswith(STEP)]
        if steps:
            self.reading.emit(self._files[self._file].name, steps[-1])

    def _finish_reading(self, status: int, how: QProcess.ExitStatus) -> None:
        process, self._process = self._process, None
        assert process is not None
        self._limit.stop()
        printed = bytes(process.readAllStandardOutput().data())
        process.deleteLater()
        broke = how is not QProcess.ExitStatus.NormalExit
        found = outcome(-1 if broke else status, printed, self._files[self._file].name)
        if broke and isinstance(found, Turned):
            self._refuse(Refusal(found.says, self._file))
            return
        kept = self._read[self._file]
        kept[_key(self._wanted)] = found
        if len(kept) > _KEPT:
            del kept[next(iter(kept))]
        self._go_on()

    def _break(self, error: QProcess.ProcessError) -> None:
        if error is QProcess.ProcessError.FailedToStart:
            self._process = None
            self._refuse(Refusal(not_started(self._files[self._file].name).says, self._file))

    def _too_long(self) -> None:
        file = self._file
        self._leave()
        self.refused.emit(Refusal(too_long(self._files[file].name).says, file))

    def _trace(self, founds: Mapping[int, Found]) -> None:
        self.tracing.emit()
        if self._thread is not None:
            # What it works out was left, but nothing stops it on its way.
            self._next = founds
            return
        assert self._state is not None
        thread = self._thread = _Thread(self._state, founds, self)
        thread.finished.connect(lambda: self._traced(thread))
        thread.start()

    def _traced(self, thread: _Thread) -> None:
        self._thread = None
        thread.deleteLater()
        # What a state led to that was left meanwhile is of no use.
        if thread.state is not self._state:
            if self._next is not None:
                founds, self._next = self._next, None
                self._trace(founds)
            return
        self._state = None
        if isinstance(thread.result, Result):
            self.done.emit(thread.result)
        else:
            self.refused.emit(thread.result)

    def _refuse(self, refusal: Refusal) -> None:
        self._state = self._look = None
        self.refused.emit(refusal)


def _key(answers: Answers) -> _Key:
    return tuple(sorted(answers.items()))


class _Thread(QThread):
    """The pieces of one state worked out; ``result`` is there once it has finished."""

    def __init__(self, state: Pass, founds: Mapping[int, Found], parent: QObject) -> None:
        super().__init__(parent)
        self.state = state
        self._founds = founds
        self.result: Result | Refusal = Refusal("The pieces could not be worked out.", 0)

    def run(self) -> None:
        file = 0
        traced: dict[int, Traced] = {}
        try:
            for file, found in self._founds.items():
                traced[file] = trace(found, self.state.files[file])
        except PatternError as error:
            self.result = Refusal(error.says, file, self._founds[file])
            return
        try:
            self.result = Result(self.state, traced, garment_of(list(traced.values()), self.state.garment))
        except PatternError as error:
            self.result = Refusal(error.says, file, self._founds[file], traced)

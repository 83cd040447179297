"""The session: the one object that changes. It holds the open garment, where it is kept, and its draft. No Qt.

A document is a traced garment with its fitting notes, a frozen value; every change puts another in its place.
Opening reads, checks and locks the new file first and only then lets go of the old one.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.documents import Document, Settings, changed_on_opening, lengths_of, next_note_id
from geometry.errors import PatternError
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.notes import Note
from geometry.pipeline import Draft, Memory, draft, preview

if TYPE_CHECKING:
    from app.files.lock import Lock
    from app.print_choice import LaidFor
    from geometry.laid_by_hand import Arrangement

ENDING = ".garment.json"


class ChangedOnDisk(PatternError):
    """The file no longer holds what was opened; she is asked before it is saved over."""


@dataclass(frozen=True)
class Recovered:
    """Work that was not saved when the window last went away: the copy, and the file that it belongs to."""

    copy: Path
    path: Path | None


class Session:
    """One open garment at most. ``state`` is the folder for recovery copies, None for the user's own."""

    def __init__(self, state: Path | None = None) -> None:
        self.document: Document | None = None
        self.path: Path | None = None
        self.opened_with: tuple[Finding, ...] = ()
        self._state = state
        self._kept: Document | None = None
        self._stamp: str | None = None
        self._lock: Lock | None = None
        self._copy: Path | None = None
        self._memory = Memory()
        self._draft: Draft | None = None
        #: How pages were arranged by hand, by what they were for: for as long as the garment is open.
        self.arrangements: dict[LaidFor, Arrangement] = {}

    @property
    def unsaved(self) -> bool:
        """Whether there is work that no file holds."""
        return self.document is not None and self.document is not self._kept

    @property
    def garment(self) -> Garment:
        """The traced garment; raises PatternError when none is open."""
        return self._open_document().garment

    @property
    def notes(self) -> tuple[Note, ...]:
        return () if self.document is None else tuple(self.document.notes)

    @property
    def draft(self) -> Draft:
        """Everything computed from the open document; raises PatternError when none is open."""
        self._open_document()
        assert self._draft is not None
        return self._draft

    def begin(self, document: Document, *, saved: bool = False) -> None:
        """Put a document on the table that no file holds yet (a sample counts as saved until it is changed).

        Raises PatternError, and keeps what is open, when it cannot be drafted.
        """
        self._take(document, None, None, None)
        self._kept = document if saved else None

    def open(self, path: Path) -> None:
        """Open a garment. Raises PatternError, and keeps what is open, when it cannot be read, held or drafted."""
        from app.files import garment_file, lock, safely

        path = path.absolute()
        mine = self.path is not None and path.resolve() == self.path.resolve()
        holding = self._lock if mine else lock.lock(path)
        try:
            data = safely.read_bytes(path, garment_file.LARGEST)
            document = garment_file.read_bytes(data, path.name)
            self._take(document, path, safely.stamp_of(data), holding)
        except BaseException:
            if holding is not None and not mine:
                holding.release()
            raise
        self._kept = document

    def put(self, document: Document) -> None:
        """Another state of the same garment; only what changed is drafted again.

        Raises PatternError, and keeps the state before, when it cannot be drafted.
        """
        if document is self.document:
            return
        self._draft = draft(document.garment, document.notes, self._memory)
        self.document = document

    def preview(self, document: Document, piece_id: str) -> Draft:
        """One piece of a changed document drafted alone, for a frame while a number is dragged; nothing is put."""
        return preview(document.garment, document.notes, piece_id, self._memory)

    def save(
        self, path: Path | None = None, *, settings: Settings | None = None, over_changes: bool = False
    ) -> None:
        """Save whole or not at all, under a new name where one is given.

        Raises ChangedOnDisk when somebody else wrote the file since it was opened, unless ``over_changes``.
        """
        from app.files import garment_file, lock, safely

        document = self._open_document()
        if path is None and self.path is None:
            raise PatternError("This garment has no file yet; save it under a name.")
        to = (path or self.path or Path()).absolute()
        elsewhere = self.path is None or to.resolve() != self.path.resolve()
        if not elsewhere and not over_changes and safely.changed_since(to, self._stamp):
            raise ChangedOnDisk(f"“{to.name}” was changed by somebody else since it was opened here.")
        holding = lock.lock(to) if elsewhere else self._lock
        whole = replace(document, results=lengths_of(self.draft.redrawn), settings=settings or document.settings)
        try:
            self._stamp = garment_file.save_file(to, whole)
        except BaseException:
            if elsewhere and holding is not None:
                holding.release()
            raise
        if elsewhere and self._lock is not None:
            self._lock.release()
        self._lock, self.path, self._kept = holding, to, document
        self.drop_copy()

    def close(self) -> None:
        """Let go of the file and leave the table empty; what was not saved is given up."""
        self.drop_copy()
        if self._lock is not None:
            self._lock.release()
        self.document = self._kept = self._draft = self._lock = self.path = None
        self.arrangements = {}
        self.opened_with = ()

    def next_note_id(self) -> str:
        """An id that no note of this garment has had before."""
        return next_note_id(self._open_document())

    def keep_copy(self) -> None:
        """Write a recovery copy of unsaved work. A copy that cannot be written is not worth a stop."""
        if not self.unsaved:
            self.drop_copy()
            return
        from app.files import garment_file, safely

        copy = self._copy or self._copy_file()
        with contextlib.suppress(OSError, PatternError):
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.with_suffix(".of").write_text(str(self.path or ""), encoding="utf-8")
            safely.write_bytes(copy, garment_file.to_bytes(self._open_document()))
            self._copy = copy

    def drop_copy(self) -> None:
        """Remove the recovery copy."""
        if self._copy is not None:
            forget(Recovered(self._copy, None))
            self._copy = None

    def recoverable(self) -> tuple[Recovered, ...]:
        """Copies left behind by windows that went away without saving."""
        found = []
        for copy in sorted(self._folder().glob(f"*{ENDING}")):
            if (number := re.match(r"(\d+)-", copy.name)) and not _is_running(int(number[1])):
                named = copy.with_suffix(".of")
                with contextlib.suppress(OSError):
                    text = named.read_text(encoding="utf-8") if named.exists() else ""
                    found.append(Recovered(copy, Path(text) if text else None))
        return tuple(found)

    def recover(self, found: Recovered) -> None:
        """Open a recovery copy as unsaved work on its own file. Raises PatternError as ``open`` does."""
        from app.files import garment_file, safely

        document = garment_file.read_bytes(safely.read_bytes(found.copy, garment_file.LARGEST), found.copy.name)
        if found.path is not None and found.path.exists():
            self.open(found.path)
        else:
            self.begin(document)
        self.put(document)
        self._kept = None
        self.keep_copy()
        forget(found)

    def _take(self, document: Document, path: Path | None, stamp: str | None, holding: Lock | None) -> None:
        """Draft a document that was read; only when that is done is the old one let go of."""
        memory = Memory()
        drafted = draft(document.garment, document.notes, memory)
        if holding is not self._lock:
            self.close()
        self.document, self.path, self._stamp, self._lock = document, path, stamp, holding
        self._memory, self._draft = memory, drafted
        self.arrangements = {}
        self.opened_with = changed_on_opening(document, drafted.redrawn)

    def _open_document(self) -> Document:
        if self.document is None:
            raise PatternError("There is nothing on the table; open a garment first.")
        return self.document

    def _folder(self) -> Path:
        if self._state is None:
            import platformdirs

            self._state = Path(platformdirs.user_state_dir("tuck-and-true", appauthor=False))
        return self._state / "not saved"

    def _copy_file(self) -> Path:
        of = str(self.path or self.garment.id)
        return self._folder() / f"{os.getpid()}-{hashlib.sha256(of.encode()).hexdigest()[:12]}{ENDING}"


def with_garment(document: Document, garment: Garment) -> Document:
    """The document with another traced garment."""
    return replace(document, garment=garment)


def forget(found: Recovered) -> None:
    """Throw a recovery copy away."""
    for file in (found.copy, found.copy.with_suffix(".of")):
        with contextlib.suppress(OSError):
            file.unlink()


def _is_running(process: int) -> bool:
    try:
        os.kill(process, 0)
    except PermissionError:
        return True
    except (OSError, OverflowError):
        return False
    return True

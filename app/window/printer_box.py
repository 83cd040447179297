"""Which printer: those of this machine and those whose correction is kept, with what is to be known of each."""

from __future__ import annotations

from dataclasses import dataclass, field

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QLabel, QVBoxLayout, QWidget

from app.queues import Queue
from app.window.asked import Asked
from geometry.errors import PatternError
from geometry.print_scale import NONE, Correction

A_FILE, ANOTHER = "a PDF file", "another, by a name of your own"


@dataclass(frozen=True)
class Printers:
    """The printers of this machine with the kept corrections by name, or ``why`` there are none."""

    queues: tuple[Queue, ...] = ()
    corrections: dict[str, Correction] = field(default_factory=dict)
    why: str = ""


def known_printers() -> Printers:
    """What there is to print on. Raises PatternError where the list of corrections is broken."""
    from app import printers, queues

    kept = printers.corrections()
    try:
        there = queues.queues()
    except PatternError as error:
        return Printers((), kept, error.says)
    return Printers(there, kept, "" if there else "No printer is set up on this machine.")


@dataclass(frozen=True)
class Chosen:
    """Where pages go: to the printer ``name``, or to a file (``to_file``), corrected for ``name`` where that is not
    empty."""

    name: str = ""
    to_file: bool = True


class PrinterBox(QWidget):
    """A list to choose from, filled when the printers are known. ``changed`` comes with every choice.

    With ``files`` it starts with a PDF file, and offers one for each correction that is kept; without, it ends with a
    printer that is not of this machine.
    """

    changed = Signal()

    def __init__(self, *, files: bool) -> None:
        super().__init__()
        self._files = files
        self.known: Printers | None = None
        self.box = QComboBox()
        self.box.setAccessibleName("printer")
        self._says = QLabel()
        self._says.setWordWrap(True)
        self._says.setProperty("role", "quiet")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.box)
        self._says.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._says.setMinimumHeight(self._says.fontMetrics().lineSpacing() * 2 + 2)
        layout.addWidget(self._says)
        layout.setSpacing(2)
        self._fill(Printers())
        self._says.setText("Looking for printers…")
        self.box.currentIndexChanged.connect(lambda _: self._tell())
        self._asked = Asked(self)
        self._asked.answered.connect(self.take)
        self._asked.refused.connect(self._says.setText)
        self._asked.start(known_printers)

    def chosen(self) -> Chosen:
        found = self.box.currentData()
        return found if isinstance(found, Chosen) else Chosen()

    def choose(self, name: str, *, to_file: bool = False) -> None:
        """Choose a printer by its name."""
        for index in range(self.box.count()):
            if self.box.itemData(index) == Chosen(name, to_file):
                self.box.setCurrentIndex(index)

    def correction(self) -> Correction:
        """What is kept for the printer that is chosen."""
        return self.known.corrections.get(self.chosen().name, NONE) if self.known else NONE

    def take(self, known: object) -> None:
        """Show the printers that were found; what was chosen stays chosen."""
        assert isinstance(known, Printers)
        first, before = self.known is None and not self._files, self.chosen()
        self.known = known
        self._fill(known)
        if not first:
            self.choose(before.name, to_file=before.to_file)
        self._tell()

    def look_anew(self) -> None:
        """Ask once more, after a correction was kept or forgotten."""
        self._asked.start(known_printers)

    def _fill(self, known: Printers) -> None:
        self.box.blockSignals(True)
        self.box.clear()
        if self._files:
            self.box.addItem(A_FILE, Chosen())
        for queue in known.queues:
            self.box.addItem(queue.name, Chosen(queue.name, to_file=False))
        if self._files:
            for name in known.corrections:
                self.box.addItem(f"{A_FILE}, corrected for {name}", Chosen(name))
        if not self._files:
            self.box.addItem(ANOTHER, Chosen())
        self.box.blockSignals(False)

    def _tell(self) -> None:
        chosen, says = self.chosen(), []
        if self.known is not None:
            queue = next((one for one in self.known.queues if one.name == chosen.name and not chosen.to_file), None)
            says += [f"! {queue.says[:1].upper()}{queue.says[1:]}."] if queue is not None and queue.says else []
            says += [f"{self.correction().says}."] if self.correction() != NONE else []
            if queue is not None and self.correction() == NONE:
                says.append("No correction is kept for it.")
            says += [self.known.why] if self.known.why else []
        self._says.setText("\n".join(line[:1].upper() + line[1:] for line in says))
        self.changed.emit()

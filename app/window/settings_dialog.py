"""The settings of the window; each takes effect as it is chosen."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QDialog, QFormLayout, QVBoxLayout, QWidget

from app.window.look import LOOKS, em
from app.window.page import done_foot
from app.window.preferences import PAPERS, TEXT_SIZES, Preferences

_UNITS = {"cm": "centimetres", "in": "inches"}


class SettingsDialog(QDialog):
    """A row for each setting. ``preferred`` brings what was chosen, by the names of the preferences."""

    preferred = Signal(dict)

    def __init__(self, parent: QWidget, preferences: Preferences) -> None:
        super().__init__(parent)
        self.setWindowTitle("Settings")
        form = QFormLayout()
        form.setHorizontalSpacing(em())
        form.setVerticalSpacing(em() // 2)
        form.addRow("tape measure in", self._box("units", _UNITS, preferences.units))
        form.addRow("light or dark", self._box("look", {look: look for look in LOOKS}, preferences.look))
        sizes = {size: f"{round(size * 100)} %" for size in TEXT_SIZES}
        form.addRow("size of the text", self._box("text_size", sizes, preferences.text_size))
        form.addRow("paper in the printer", self._box("paper", PAPERS, preferences.paper))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(em(), em(), em(), em())
        layout.setSpacing(em())
        layout.addLayout(form)
        layout.addLayout(done_foot(self))

    def box(self, name: str) -> QComboBox:
        found = self.findChild(QComboBox, name)
        assert isinstance(found, QComboBox)
        return found

    def _box(self, name: str, words: dict, chosen: object) -> QComboBox:  # type: ignore[type-arg]
        box = QComboBox()
        box.setObjectName(name)
        for value, text in words.items():
            box.addItem(text, value)
        box.setCurrentIndex(max(0, box.findData(chosen)))
        box.currentIndexChanged.connect(lambda _: self.preferred.emit({name: box.currentData()}))
        return box

"""What is done about how things are shown: tape measure, arrangement, text, pieces, settings and help."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt

if TYPE_CHECKING:
    from app.window.window import MainWindow

SIDE_BY_SIDE, LAID_OVER = "side by side", "laid over"


class ViewActs:
    """The View and Help menus, and the settings."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window

    def does(self) -> dict[str, Callable[[], None]]:
        """What each action of the table does."""
        from app.window.table import ZOOM_STEP

        window = self._window
        return {
            "next_piece": self.next_piece,
            "fit": lambda: window.table.fit(),
            "closer": lambda: window.table.zoom(ZOOM_STEP),
            "further": lambda: window.table.zoom(1 / ZOOM_STEP),
            "opened": lambda: window.table.set_opened(not window.table.opened),
            "beside": lambda: self.arrange(SIDE_BY_SIDE),
            "over": lambda: self.arrange(LAID_OVER),
            "cm": lambda: self.set_units("cm"),
            "inch": lambda: self.set_units("in"),
            "sew": self.to_seams,
            "cards": self.to_notes,
            "larger": lambda: window.text_size(1),
            "smaller": lambda: window.text_size(-1),
            "settings": self.settings,
            "help": self.help,
            "keys": self.keys,
            "about": self.about,
        }

    def tick(self) -> None:
        """Tick what is so in the menu."""
        window = self._window
        window.acts["cm"].setChecked(window.preferences.units == "cm")
        window.acts["inch"].setChecked(window.preferences.units == "in")
        window.acts["beside"].setChecked(window.preferences.arrangement == SIDE_BY_SIDE)
        window.acts["over"].setChecked(window.preferences.arrangement == LAID_OVER)
        window.acts["opened"].setChecked(window.table.opened)

    def next_piece(self) -> None:
        draft = self._window.draft
        if draft is not None:
            ids = [piece.id for piece in draft.garment.pieces]
            self._window.show_piece(ids[(ids.index(self._window.piece_id) + 1) % len(ids)])

    def arrange(self, how: str) -> None:
        self._window.table.set_arrangement(how)
        self._window.prefer(arrangement=how)

    def set_units(self, units: str) -> None:
        """Say every length in the window in cm or in inches."""
        self._window.top.show_units(units)
        self._window.table.set_units(units)
        self._window.prefer(units=units)

    def to_seams(self) -> None:
        """Unfold or fold away the column on a small screen; on a large one, give it the keyboard."""
        window = self._window
        if window.line.isVisible():
            window.line.toggle()
        if window.panel.isVisible():
            window.panel.take_keyboard()

    def to_notes(self) -> None:
        strip = self._window.strip
        chosen = self._window.note_acts.chosen
        card = strip.card(chosen.id) if chosen is not None else strip.next_card
        card.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def settings(self) -> None:
        from app.window.settings_dialog import SettingsDialog

        window = self._window
        dialog = SettingsDialog(window, window.preferences)
        dialog.preferred.connect(lambda what: self._prefer(what))
        dialog.exec()

    def _prefer(self, what: dict[str, object]) -> None:
        if "units" in what:
            self.set_units(str(what.pop("units")))
        if what:
            self._window.prefer(**what)

    def help(self) -> None:
        from app.window.help_pages import show_using

        show_using(self._window)

    def keys(self) -> None:
        from app.window.help_pages import show_keys

        show_keys(self._window)

    def about(self) -> None:
        from app.window.help_pages import show_about

        show_about(self._window)

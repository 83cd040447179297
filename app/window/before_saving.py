"""What is lacking in the pieces as they stand, said before they are printed or exported."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel

from geometry.alterations import find
from geometry.pipeline import Draft


def lacking(draft: Draft) -> list[str]:
    """A plain sentence for each piece without a cutting line and each note that was not done."""
    pieces = [
        f"! {piece.name} has no cutting line; only its stitching line is drawn."
        for piece in draft.redrawn.pieces
        if draft.cut[piece.id].cutting is None
    ]
    notes = [
        f"! Note {number}, “{find(step.note.alteration).title}”, was not done."
        for number, step in enumerate(draft.followed.steps, 1)
        if step.note.on and not step.done
    ]
    return [*pieces, *notes]


def lacking_label(draft: Draft) -> QLabel:
    """The same to be read in a dialog; hidden where nothing is lacking."""
    label = QLabel("\n".join(lacking(draft)))
    label.setProperty("role", "warning")
    label.setWordWrap(True)
    label.setHidden(not label.text())
    return label

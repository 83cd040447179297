"""The one family of errors whose sentence is meant for the dressmaker."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(eq=False)
class PatternError(Exception):
    """One clear sentence: what is wrong, where, and what to do.

    ``says`` is the sentence; ``file``, ``piece``, ``edge`` and ``point`` (mm, y up) say where, when known.
    """

    says: str
    piece: str | None = None
    edge: str | None = None
    point: tuple[float, float] | None = None
    file: str | None = None

    def __str__(self) -> str:
        return self.says

    def where(self) -> dict[str, object]:
        """The place as plain values, only what is known."""
        known: dict[str, object] = {}
        if self.file is not None:
            known["file"] = self.file
        if self.piece is not None:
            known["piece"] = self.piece
        if self.edge is not None:
            known["edge"] = self.edge
        if self.point is not None:
            known["point_mm"] = [round(self.point[0], 4), round(self.point[1], 4)]
        return known

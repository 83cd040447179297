"""Findings: doubts that do not stop the work, each with its place and its sentence."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from geometry.motions import Point


class Level(StrEnum):
    """How much a finding matters."""

    NOTICE = "notice"
    WARN = "warn"
    FAULT = "fault"


@dataclass(frozen=True)
class Finding:
    """One sentence for the dressmaker. ``code`` is a stable short name; ``place`` is in mm on the piece.

    ``about`` names the seam, corner or dart that was walked (“seam:…”, “corner:…”, “dart:…”), where it is about one.
    ``cure`` names what else a note might put right (“ring:…”, “allowance:…”, “widths:…”), ``edges`` the ids of the
    edges of the piece that it lies at.
    """

    code: str
    level: Level
    says: str
    piece: str | None = None
    note: str | None = None
    place: Point | None = None
    about: str | None = None
    cure: str | None = None
    edges: tuple[str, ...] = ()

"""The legs of darts, walked like a seam: they are sewn together, so they are equal."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.findings import Finding, Level
from geometry.garments import Garment
from geometry.pieces import Dart, Piece
from geometry.readings import mm_words
from geometry.tolerances import TRUE_MM, VERDICT_STEP_MM


@dataclass(frozen=True)
class DartWalk:
    """A dart with its two legs (mm from the sewn point to the start and the end of its mouth)."""

    piece: str
    dart: str
    name: str
    legs: tuple[float, float]

    @property
    def key(self) -> str:
        """What a finding about this dart is about."""
        return f"dart:{self.piece}:{self.dart}"

    @property
    def difference_mm(self) -> float:
        return self.legs[1] - self.legs[0]

    @property
    def equal(self) -> bool:
        return abs(self.difference_mm) <= TRUE_MM + VERDICT_STEP_MM / 2


def legs_of(piece: Piece, dart: Dart) -> tuple[float, float]:
    """The lengths in mm from the sewn point to both ends of a dart's mouth, in outline order."""
    mouth = next(run.chain for run in piece.edge(dart.edge).runs if run.dart == dart.id)
    return math.dist(dart.sewn_point, mouth.start), math.dist(dart.sewn_point, mouth.end)


def walk_darts(garment: Garment) -> tuple[DartWalk, ...]:
    """Every dart with a mouth, by piece and in the order of the piece."""
    return tuple(
        DartWalk(piece.id, dart.id, f"{dart.name} of {piece.name}", legs_of(piece, dart))
        for piece in garment.pieces
        for dart in piece.darts
    )


def dart_findings(traced: tuple[DartWalk, ...], now: tuple[DartWalk, ...]) -> tuple[Finding, ...]:
    """Darts whose legs differ by more than a seam may."""
    was = {walk.key: walk for walk in traced}
    findings = []
    for walk in now:
        if walk.equal:
            continue
        before = was.get(walk.key)
        as_traced = before is not None and abs(walk.difference_mm) <= abs(before.difference_mm) + VERDICT_STEP_MM
        says = (
            f"{walk.name}: its legs are {mm_words(walk.legs[0])} and {mm_words(walk.legs[1])} long, "
            f"{'so in the tracing' if as_traced else 'since the notes'}; make the shorter one as long as the other."
        )
        level = Level.NOTICE if as_traced else Level.WARN
        findings.append(Finding("dart-legs", level, says, walk.piece, None, None, walk.key))
    return tuple(findings)

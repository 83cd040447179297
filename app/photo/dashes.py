"""A line's dash: learnt from the ink along a stretch of it, and how ill some ink fits it.

A stroke that is not seen says that this is another line. A gap with ink in it says less: another line may lie there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.photo.line_ink import Floats, Ink
from geometry.errors import PatternError
from geometry.motions import FloatArray

#: Ink is sampled so often along a line (mm).
SAMPLE_MM = 0.25
#: Ink this pale (share of black) is paper, this dark is ink; between them it is in part.
_PALE, _BLACK = 0.25, 0.75
#: From the beginning of one stroke to that of the next of its kind is between so much and so much (mm).
SHORTEST_MM, LONGEST_MM = 1.6, 24.0
#: A line with more ink than this share is a full line.
_FULL = 0.95
#: The least share of the ink's unevenness that a dash explains, and what share of the most the shortest one explains.
_EXPLAINS, _MORE = 0.5, 0.8
#: A place in the dash is stroke or gap when so much of it is ink or paper; between them it is neither.
_STROKE, _GAP = 0.65, 0.35
#: What ink in a gap counts against a line, next to paper in a stroke, at most; a mm of way on which all gaps are
#: covered costs no more than so much, whatever share of it they are.
_INK_IN_GAP, _COVERED_COSTS = 0.4, 0.08
#: A dash is plainly seen when from so much to so much of its strokes is ink, and no more than from so much to so much
#: of its gaps, of which there are so many mm.
_THERE, _CLEAR, _TOLD_MM = (0.75, 0.92), (0.45, 0.7), 1.0
#: Phases of the dash that are told apart stand so far apart (mm), and no more of them than so many are told.
_PHASE_MM, _MOST_PHASES = 0.45, 40
#: The dash is learnt from one of these stretches (mm behind and ahead), which may be clear of corners and crossings.
_LEARNT_MM = (
    (25.0, 0.0),
    (0.0, 25.0),
    (20.0, 5.0),
    (5.0, 20.0),
    (26.0, 26.0),
    (40.0, 40.0),
    (40.0, 5.0),
    (5.0, 40.0),
    (40.0, 18.0),
    (18.0, 40.0),
)
#: While it is learnt the line is followed by arcs of so many mm, so far at a step (mm).
_ARC_MM, _STEP_MM = 13.0, 2.0
#: What a turn at the beginning of an arc (a radian) and a bend (a radian a mm) are held against it.
_TURN_COSTS, _BEND_COSTS = 0.25, 1.5


@dataclass(frozen=True, eq=False)
class Dash:
    """Ink (0 to 1) over one dash (m,), from any place in it, and its length in mm; a full line has no length."""

    ink: FloatArray
    length: float

    @property
    def is_full(self) -> bool:
        return self.length == 0.0

    @property
    def phases(self) -> int:
        return 1 if self.is_full else max(6, min(_MOST_PHASES, math.ceil(self.length / _PHASE_MM)))

    @property
    def phase_mm(self) -> float:
        """How far one phase is from the next."""
        return self.length / self.phases

    @property
    def ink_in_gap(self) -> float:
        """What a mm of ink in a gap counts against a line."""
        gaps = self.laid(np.arange(len(self.ink)) * self.length / len(self.ink))[1]
        return _INK_IN_GAP if self.is_full else min(_INK_IN_GAP, _COVERED_COSTS / max(float(gaps.mean()), 1e-6))

    def into_phase(self, gone: FloatArray) -> FloatArray:
        """How far (mm) ``gone`` (n,) mm on is beyond the nearest phase."""
        phase = self.phase_mm
        return np.zeros(len(gone)) if self.is_full else np.asarray(gone - np.round(gone / phase) * phase)

    def laid(self, along: FloatArray) -> tuple[FloatArray, FloatArray]:
        """How much stroke and how much gap (0 to 1) there is ``along`` (n,) mm on for every phase: (n, phases) each."""
        if self.is_full:
            return np.ones((len(along), 1)), np.zeros((len(along), 1))
        at = along[:, None] + np.arange(self.phases)[None] * self.phase_mm
        places = np.arange(len(self.ink)) * self.length / len(self.ink)
        ink = np.interp(at.ravel() % self.length, places, self.ink, period=self.length).reshape(at.shape)
        sure = np.clip((ink - _GAP) / (_STROKE - _GAP), 0.0, 1.0)
        return np.clip(2 * sure - 1, 0.0, 1.0), np.clip(1 - 2 * sure, 0.0, 1.0)

    def seen(self, inked: FloatArray, along: FloatArray) -> Floats:
        """How plainly (0 to 1) the dash itself is seen in ink (n, m) ``along`` (m,) mm on, for every phase (n, phases):
        ink in its strokes, none in its gaps."""
        strokes, gaps = (one.astype(np.float32) for one in self.laid(along))
        inked = inked.astype(np.float32)
        there = inked @ strokes / np.maximum(strokes.sum(axis=0), 1e-6)
        covered = inked @ gaps / np.maximum(gaps.sum(axis=0), 1e-6)
        told = np.minimum(gaps.sum(axis=0) * abs(float(along[1] - along[0])) / _TOLD_MM, 1.0)
        plain = np.clip((there - _THERE[0]) / (_THERE[1] - _THERE[0]), 0.0, 1.0)
        clear = np.clip((_CLEAR[1] - covered) / (_CLEAR[1] - _CLEAR[0]), 0.0, 1.0)
        return np.asarray(plain * clear * told, np.float32)

    @property
    def longest_gap(self) -> float:
        """In mm."""
        return _longest(self.ink < (_STROKE + _GAP) / 2) * self.length / len(self.ink)

    @property
    def shortest_stroke(self) -> float:
        """In mm; endless for a full line."""
        inked = self.ink >= (_STROKE + _GAP) / 2
        if self.is_full or inked.all():
            return math.inf
        runs = np.diff(np.flatnonzero(np.diff(np.concatenate([np.roll(inked, -int(inked.argmin())), [False]]))))
        return float(runs[::2].min(initial=len(inked))) * self.length / len(self.ink)


def _longest(flags: NDArray[np.bool_]) -> int:
    """The longest run of a ring of flags (n,)."""
    if flags.all():
        return len(flags)
    best = run = 0
    for flag in np.concatenate([flags, flags]):
        run = run + 1 if flag else 0
        best = max(best, run)
    return best


def inkiness(dark: FloatArray | Floats, black: float) -> FloatArray:
    """How much ink (0 to 1) darkness is, where the line's own strokes are ``black``."""
    share = np.clip((dark / black - _PALE) / (_BLACK - _PALE), 0.0, 1.0)
    return np.asarray(share, dtype=np.float64)


def dash_at(ink: Ink, place: FloatArray, way: FloatArray, black: float) -> Dash:
    """The dash of the line through a place (2,) in mm along a unit way (2,). Raises PatternError when it cannot be
    told."""
    most = max(max(both) for both in _LEARNT_MM)
    heading = math.atan2(way[1], way[0])
    behind, ahead = (_inked(ink, place, heading + turn, most, black) for turn in (math.pi, 0.0))
    whole = np.concatenate([behind[::-1], ahead])
    return _learnt(
        [whole[len(behind) - round(back / SAMPLE_MM) : len(behind) + round(on / SAMPLE_MM)] for back, on in _LEARNT_MM]
    )


def _inked(ink: Ink, place: FloatArray, heading: float, far: float, black: float) -> FloatArray:
    """Ink (n,) every SAMPLE_MM along arcs one after the other that run where most ink is."""
    tried = np.meshgrid(np.radians([-8.0, -4.0, 0.0, 4.0, 8.0]), np.linspace(-0.04, 0.04, 17))
    turns, bends = (one.ravel() for one in tried)
    along = np.arange(SAMPLE_MM / 2, _ARC_MM, SAMPLE_MM)
    held = _TURN_COSTS * np.abs(turns) + _BEND_COSTS * np.abs(bends)
    count = round(_STEP_MM / SAMPLE_MM)
    found: list[FloatArray] = []
    while len(found) * _STEP_MM < far:
        angles = heading + turns[:, None] + bends[:, None] * along
        ways = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
        points = place + ways.cumsum(axis=1) * SAMPLE_MM - ways * (SAMPLE_MM / 2)
        seen = inkiness(ink.along(points, ways), black)
        at = int((seen.mean(axis=1) - held).argmax())
        found.append(seen[at, :count])
        place, heading = points[at, count - 1] + ways[at, count - 1] * (SAMPLE_MM / 2), float(angles[at, count - 1])
    return np.concatenate(found)


def _learnt(rows: list[FloatArray]) -> Dash:
    """The dash from ink (0 to 1) along several stretches of a line, SAMPLE_MM apart."""
    if any(float((row > 0.5).mean()) > _FULL for row in rows):
        return Dash(np.ones(1), 0.0)
    found = [(_explained(row), row) for row in rows]
    (lengths, shares), row = max(found, key=lambda one: float(one[0][1].max(initial=0.0)))
    if shares.max(initial=0.0) < _EXPLAINS:
        raise PatternError(
            "The dash of the line cannot be told at the point that was clicked, as it bends or other lines run near it "
            "there; click where it runs alone and nearly straight."
        )
    first = int(np.flatnonzero(shares > _MORE * shares.max())[0])
    near = np.abs(lengths - lengths[first]) < 0.2
    length = float(lengths[np.where(near, shares, 0.0).argmax()])
    return Dash(_folded(row, length)[0], length)


def _explained(row: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Lengths of a dash in mm, and the share of the row's unevenness that each explains."""
    most = min(LONGEST_MM, len(row) * SAMPLE_MM / 2.2)
    lengths = [SHORTEST_MM]
    while lengths[-1] < most:
        # So fine that the last dash of the row is not out of step with the first.
        lengths.append(lengths[-1] + min(0.15 * lengths[-1] ** 2 / (len(row) * SAMPLE_MM), 0.1))
    whole = float(row.var()) + 1e-9
    shares = []
    for length in lengths:
        ink, parts = _folded(row, length)
        left = float(((row - ink[parts]) ** 2).sum()) / max(len(row) - len(ink), 1)
        shares.append(1 - left / whole if ink.min() < _GAP and ink.max() > _STROKE else 0.0)
    return np.array(lengths), np.array(shares)


def _folded(row: FloatArray, length: float) -> tuple[FloatArray, NDArray[np.intp]]:
    """The mean ink over one dash, and which part of it every sample is."""
    count = max(4, round(length / SAMPLE_MM))
    at = np.arange(len(row)) * SAMPLE_MM % length
    parts = np.minimum((at / length * count).astype(np.intp), count - 1)
    many = np.bincount(parts, minlength=count)
    ink = np.bincount(parts, row, count) / np.maximum(many, 1)
    return np.where(many > 0, ink, 0.5), parts

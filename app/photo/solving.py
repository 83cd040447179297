"""Where the table lies in the picture: sheets, tilt and lens solved together from the points measured on the sheets.

The picture of a plane in a pinhole camera is a homography; the lens then moves every point along its ray from the
picture's middle by one radial term (Brown 1971). Unknown are the homography's eight numbers, the radial term, and each
further sheet's place and turn on the table; the first sheet's own frame is the table's. All are found in one least
squares (Gauss-Newton with Levenberg's damping), with the derivatives written out; points that lie far off count less
(Huber 1964).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from app.photo.finding import SeenSheet, through
from geometry.errors import PatternError
from geometry.motions import STAY, FloatArray, Motion

#: Lengths on the table are solved in units of this many mm, pixels in half diagonals, so that all numbers are near 1.
UNIT_MM = 500.0
#: A point further off than this many times the usual counts less.
_HUBER = 2.0
_STEPS = 60


@dataclass(frozen=True)
class View:
    """How the table is seen: from mm on the table to pixels.

    ``across`` are the homography's eight numbers by rows (the ninth is 1), from UNIT_MM to half diagonals; ``radial``
    the lens's term; ``middle`` the picture's middle in pixels and ``radius`` its half diagonal; ``laid`` brings points
    of the frame in use to the frame that was solved in; ``scale`` is the table's mm in a mm of that frame.
    """

    across: tuple[float, ...]
    radial: float
    middle: tuple[float, float]
    radius: float
    laid: Motion = STAY
    scale: float = 1.0

    def pixels(self, points: FloatArray) -> FloatArray:
        """Where points (..., 2) of the table (mm, y up) are seen, in pixels."""
        flat = self.laid.points(np.asarray(points, dtype=float).reshape(-1, 2)) / (UNIT_MM * self.scale)
        seen, _ = _bent(np.array([*self.across, self.radial]), flat, derived=False)
        return (seen * self.radius + self.middle).reshape(np.shape(points))

    def table(self, pixels: FloatArray) -> FloatArray:
        """The points (n, 2) of the table in mm that are seen at pixels (n, 2)."""
        bent = (np.asarray(pixels, dtype=float) - self.middle) / self.radius
        far = np.hypot(bent[:, 0], bent[:, 1])
        radius = far.copy()
        for _ in range(12):
            radius -= (radius * (1 + self.radial * radius**2) - far) / (1 + 3 * self.radial * radius**2)
        flat = bent * np.divide(radius, far, out=np.ones_like(far), where=far > 1e-12)[:, None]
        back = np.linalg.inv(np.array([*self.across, 1.0]).reshape(3, 3))
        return self.laid.undone().points(through(back, flat) * UNIT_MM * self.scale)

    def slopes(self, points: FloatArray) -> FloatArray:
        """(n, 2, 2) pixels per mm: row by row x and y of the picture, column by column along x and y of the table."""
        step = 0.5
        columns = [
            (self.pixels(points + half) - self.pixels(points - half)) / step
            for half in (np.array([step / 2, 0.0]), np.array([0.0, step / 2]))
        ]
        return np.stack(columns, axis=2)

    def moved(self, motion: Motion) -> View:
        """The same view from a frame whose points come to this one's by ``motion``."""
        return replace(self, laid=motion.then(self.laid))


@dataclass(frozen=True, eq=False)
class Solved:
    """The view, and how sure it is.

    ``covariance`` (9, 9) of the homography's numbers and the radial term; ``rms_px`` of what the measured points are
    off, ``sheet_rms_px`` by sheet; ``poses`` (x, y in mm, turn in radians) by sheet.
    """

    view: View
    covariance: FloatArray
    rms_px: float
    sheet_rms_px: tuple[float, ...]
    poses: FloatArray

    def shape_error(self, points: FloatArray) -> float:
        """Expected rms error (mm) at points (n, 2) of the table that follows from the measured points' own errors.

        Where a piece lies and how it is turned does not matter, so what is left after the best slide and turn counts.
        """
        view = self.view
        flat = view.laid.points(points) / (UNIT_MM * view.scale)
        parameters = np.array([*view.across, view.radial])
        _, (by_parameter, by_place) = _bent(parameters, flat, derived=True)
        moves = -np.linalg.solve(by_place, by_parameter) * UNIT_MM * view.scale
        rows = moves.reshape(-1, moves.shape[2])
        centred = flat - flat.mean(axis=0)
        turns = np.stack([-centred[:, 1], centred[:, 0]], axis=1).ravel()
        loose = np.stack([np.tile([1.0, 0.0], len(flat)), np.tile([0.0, 1.0], len(flat)), turns], axis=1)
        basis, _ = np.linalg.qr(loose)
        rows = rows - basis @ (basis.T @ rows)
        return float(np.sqrt(max(np.einsum("ij,jk,ik->", rows, self.covariance, rows) / len(flat), 0.0)))


def solve(sheets: Sequence[SeenSheet], size: tuple[int, int]) -> Solved:
    """Sheets, tilt and lens together, for a picture of ``size`` (columns, rows) pixels.

    Raises PatternError when no view fits them.
    """
    middle = np.array([(size[0] - 1) / 2, (size[1] - 1) / 2])
    radius = float(np.hypot(*size) / 2)
    places = [sheet.places / UNIT_MM for sheet in sheets]
    seen = [(sheet.pixels - middle) / radius for sheet in sheets]
    first = max(range(len(sheets)), key=lambda at: (len(places[at]), -np.linalg.norm(seen[at].mean(axis=0))))
    order = [first, *(at for at in range(len(sheets)) if at != first)]
    problem = _Problem([places[at] for at in order], [seen[at] for at in order])
    parameters = problem.started()
    parameters = problem.settled(parameters, bend=False)
    parameters = problem.settled(parameters, bend=True)
    off, slopes = problem.misses(parameters)
    weights = _weights(off)
    sides = 2 * len(off) - len(parameters)
    spread = float(np.sqrt((weights[:, None] * off**2).sum() / max(sides, 1)))
    if not np.isfinite(parameters).all() or spread > 0.01:
        raise PatternError(
            "The marker sheets do not fit together in this picture; lay them flat, hold the camera above the middle of "
            "the table, and photograph again."
        )
    rows = slopes.reshape(-1, slopes.shape[2]) * np.sqrt(np.repeat(weights, 2))[:, None]
    inverse = np.linalg.pinv(rows.T @ rows, rcond=1e-14)
    by_sheet = [float(np.sqrt((off[problem.owner == at] ** 2).mean())) * radius for at in range(len(order))]
    back = np.argsort(order)
    poses = np.concatenate([np.zeros((1, 3)), parameters[9:].reshape(-1, 3)]) * np.array([UNIT_MM, UNIT_MM, 1.0])
    view = View(tuple(parameters[:8].tolist()), float(parameters[8]), (float(middle[0]), float(middle[1])), radius)
    return Solved(
        view,
        np.asarray(inverse[:9, :9] * spread**2, dtype=np.float64),
        float(np.sqrt((off**2).mean())) * radius,
        tuple(by_sheet[at] for at in back),
        np.asarray(poses[back], dtype=np.float64),
    )


class _Problem:
    """The least squares: where every measured point should be seen, against where it is."""

    def __init__(self, places: list[FloatArray], seen: list[FloatArray]) -> None:
        self.places, self.seen = np.concatenate(places), np.concatenate(seen)
        self.owner = np.repeat(np.arange(len(places)), [len(part) for part in places])
        self.count = len(places)

    def started(self) -> FloatArray:
        """A first guess: the homography of the first sheet, and the others laid where it sees them."""
        import cv2

        own = self.owner == 0
        across, _ = cv2.findHomography(self.places[own], self.seen[own])
        if across is None:
            raise PatternError("A marker sheet is seen too much from the side; photograph from above.")
        back = np.linalg.inv(across)
        poses = []
        for at in range(1, self.count):
            there = through(back, self.seen[self.owner == at])
            poses.append(_rigid(self.places[self.owner == at], there))
        return np.concatenate([(across / across[2, 2]).ravel()[:8], [0.0], np.array(poses).ravel()])

    def misses(self, parameters: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(n, 2) misses and (n, 2, p) their derivatives."""
        poses = np.concatenate([np.zeros((1, 3)), parameters[9:].reshape(-1, 3)])
        turn = poses[self.owner, 2]
        cos, sin, (x, y) = np.cos(turn), np.sin(turn), self.places.T
        table = np.stack([cos * x - sin * y, sin * x + cos * y], axis=1) + poses[self.owner, :2]
        seen, (by_parameter, by_place) = _bent(parameters[:9], table, derived=True)
        slopes = np.zeros((len(table), 2, len(parameters)))
        slopes[:, :, :9] = by_parameter
        turned = np.stack([-sin * x - cos * y, cos * x - sin * y], axis=1)
        others = np.flatnonzero(self.owner)
        column = 9 + 3 * (self.owner[others] - 1)
        for k in (0, 1):
            slopes[others, :, column + k] = by_place[others, :, k]
        slopes[others, :, column + 2] = np.einsum("nij,nj->ni", by_place[others], turned[others])
        return seen - self.seen, slopes

    def settled(self, parameters: FloatArray, *, bend: bool) -> FloatArray:
        """The parameters at which the misses are least; the lens stays straight without ``bend``."""
        free = np.ones(len(parameters), bool)
        free[8] = bend
        damp = 1e-3
        off, slopes = self.misses(parameters)
        weights = _weights(off)
        for _ in range(_STEPS):
            rows = slopes[:, :, free].reshape(-1, int(free.sum()))
            heavy = np.repeat(weights, 2)
            normal, pull = rows.T @ (rows * heavy[:, None]), rows.T @ (heavy * off.ravel())
            step = np.zeros(len(parameters))
            step[free] = -np.linalg.solve(normal + damp * np.diag(np.diag(normal) + 1e-15), pull)
            new_off, new_slopes = self.misses(parameters + step)
            gain = (weights[:, None] * (off**2 - new_off**2)).sum()
            if gain >= 0 and np.isfinite(new_off).all():
                parameters, off, slopes, damp = parameters + step, new_off, new_slopes, max(damp / 8, 1e-12)
                weights = _weights(off)
                if np.abs(step).max() < 1e-10:
                    break
            else:
                damp = damp * 10
                if damp > 1e12:
                    break
        return parameters


def _bent(
    parameters: FloatArray, table: FloatArray, *, derived: bool
) -> tuple[FloatArray, tuple[FloatArray, FloatArray]]:
    """Points (n, 2) of the table in the picture, and their derivatives by the nine parameters and by the place."""
    a, b, c, d, e, f, g, h, radial = parameters
    x, y = table[:, 0], table[:, 1]
    w = g * x + h * y + 1.0
    u, v = (a * x + b * y + c) / w, (d * x + e * y + f) / w
    square = u * u + v * v
    grown = 1 + radial * square
    seen = np.stack([u * grown, v * grown], axis=1)
    if not derived:
        return seen, (seen, seen)
    lens = np.empty((len(x), 2, 2))
    lens[:, 0, 0], lens[:, 1, 1] = grown + 2 * radial * u * u, grown + 2 * radial * v * v
    lens[:, 0, 1] = lens[:, 1, 0] = 2 * radial * u * v
    flat = np.zeros((len(x), 2, 8))
    flat[:, 0, 0], flat[:, 0, 1], flat[:, 0, 2] = x / w, y / w, 1 / w
    flat[:, 1, 3:6] = flat[:, 0, 0:3]
    flat[:, 0, 6], flat[:, 0, 7], flat[:, 1, 6], flat[:, 1, 7] = -u * x / w, -u * y / w, -v * x / w, -v * y / w
    place = np.empty((len(x), 2, 2))
    place[:, 0, 0], place[:, 0, 1] = (a - u * g) / w, (b - u * h) / w
    place[:, 1, 0], place[:, 1, 1] = (d - v * g) / w, (e - v * h) / w
    by_lens = np.stack([u * square, v * square], axis=1)[:, :, None]
    return seen, (np.concatenate([lens @ flat, by_lens], axis=2), lens @ place)


def _rigid(places: FloatArray, there: FloatArray) -> FloatArray:
    """Slide (x, y) and turn (radians) that bring points best onto others, both (n, 2)."""
    one, two = places - places.mean(axis=0), there - there.mean(axis=0)
    turn = np.arctan2((one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum(), (one * two).sum())
    cos, sin = np.cos(turn), np.sin(turn)
    middle = np.array([[cos, -sin], [sin, cos]]) @ places.mean(axis=0)
    return np.array([*(there.mean(axis=0) - middle), turn])


def _weights(off: FloatArray) -> FloatArray:
    """(n,) what each point counts, by how far off it is against the usual."""
    far = np.hypot(off[:, 0], off[:, 1])
    usual = 1.48 * float(np.median(far)) / 1.25 + 1e-9
    return np.minimum(1.0, _HUBER * 1.5 * usual / np.maximum(far, 1e-12))

"""Photographs made for tests: a table, a piece of paper, marker sheets, seen by a camera whose every number is known.

The camera is written here on its own: a pinhole at a place above the table, turned about three axes, with one radial
term. Each pixel is the light that falls on its area (many samples wherever anything has an edge), then come blur,
uneven light, noise, the sRGB curve (IEC 61966-2-1) and JPEG.

The table is the plane z = 0, in mm, x to the right, y up, z towards the camera. Pixels count from the middle of the
upper left one, y down.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from app.photo.marker_sheets import black_parts, sheet_corners
from geometry.lines import Chain, chain, flatten, joined, straight
from geometry.papers import A4

Array = NDArray[np.float64]
#: Samples in a pixel on an edge are spread by the two-dimensional golden-ratio sequence (Roberts, 2018).
_STEPS = np.array([0.7548776662466927, 0.5698402909980532])
WHITE, BLACK, COVER, INK = (0.80, 0.82, 0.82), (0.035, 0.035, 0.035), (0.2, 0.25, 0.5), (0.05, 0.04, 0.04)


@dataclass(frozen=True)
class Camera:
    """Pixels across and down, focal length in pixels, one radial term, place above the table (mm), turns (degrees)."""

    width: int
    height: int
    focal: float
    radial: float
    at: tuple[float, float, float]
    tilt_deg: float
    tilt_way_deg: float
    roll_deg: float

    @cached_property
    def axes(self) -> Array:
        """(3, 3): the camera's right, down and forward, as rows, in the table's frame."""
        way, tilt, roll = (math.radians(a) for a in (self.tilt_way_deg, self.tilt_deg, self.roll_deg))
        forward = np.array([math.sin(tilt) * math.cos(way), math.sin(tilt) * math.sin(way), -math.cos(tilt)])
        right = np.cross(forward, [0.0, 1.0, 0.0])
        right /= np.linalg.norm(right)
        down = np.cross(forward, right)
        turned = math.cos(roll) * right + math.sin(roll) * down
        return np.array([turned, np.cross(forward, turned), forward])

    @property
    def middle(self) -> Array:
        return np.array([(self.width - 1) / 2, (self.height - 1) / 2])

    def seen(self, table: Array) -> Array:
        """Pixels (n, 2) of points of the table (n, 2)."""
        away = np.column_stack([table, np.zeros(len(table))]) - self.at
        x, y, z = (away @ self.axes.T).T
        flat = np.column_stack([x / z, y / z])
        grown = 1 + self.radial * (flat**2).sum(axis=1, keepdims=True)
        return flat * grown * self.focal + self.middle

    def met(self, pixels: Array) -> Array:
        """Points of the table (n, 2) that are seen at pixels (n, 2)."""
        bent = (pixels - self.middle) / self.focal
        far = np.hypot(bent[:, 0], bent[:, 1])
        radius = far.copy()
        for _ in range(4):
            radius -= (radius + self.radial * radius**3 - far) / (1 + 3 * self.radial * radius**2)
        flat = bent * np.divide(radius, far, out=np.ones_like(far), where=far > 0)[:, None]
        ways = np.column_stack([flat, np.ones(len(flat))]) @ self.axes
        return np.asarray(self.at)[:2] - ways[:, :2] * (self.at[2] / ways[:, 2])[:, None]


@dataclass(frozen=True)
class Laid:
    """A marker sheet on the table: its number, the middle (mm), its turn; ``curl`` mm that one end stands up."""

    sheet: int
    at: tuple[float, float]
    turn_deg: float
    curl: float = 0.0

    def moved(self, points: Array) -> Array:
        """Points (n, 2) of the sheet, where a camera far above sees them on the table."""
        cos, sin = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        # A sheet that curls up shortens and comes nearer; seen from above its end moves outward, least at the middle.
        lifted = np.where(points[:, 1:] > 0, (points[:, 1:] / 130.0) ** 2 * self.curl, 0.0)
        stood = points * (1 + lifted / 1000.0) if self.curl else points
        return stood @ np.array([[cos, sin], [-sin, cos]]) + self.at

    def back(self, points: Array) -> Array:
        """Points of the table on the sheet (n, 2)."""
        cos, sin = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        flat = (points - self.at) @ np.array([[cos, -sin], [sin, cos]])
        if not self.curl:
            return flat
        found = flat
        for _ in range(8):
            lifted = np.where(found[:, 1:] > 0, (found[:, 1:] / 130.0) ** 2 * self.curl, 0.0)
            found = flat / (1 + lifted / 1000.0)
        return found


@dataclass(frozen=True)
class Shadow:
    """The piece's shadow on the table, as its paper stands up a little: how far it falls (mm), over how many mm it
    fades (a normal curve), and what share of the light it takes."""

    falls: tuple[float, float]
    soft: float
    depth: float


@dataclass(frozen=True)
class Cast:
    """A shadow over a whole side of the picture, as the photographer's own: which way it lies (degrees, y down), where
    its middle is and over how much it fades (in half widths of the picture from its middle), what share it takes."""

    way_deg: float
    at: float
    soft: float
    depth: float


@dataclass(frozen=True, eq=False)
class Scene:
    """All that is in a photograph. Light is linear, 1 is white paper in full light.

    ``lines`` are drawn on the piece, points (n, 2) and a width in mm, in ``ink``.
    ``pattern`` gives how much lighter (n,) than the table's own colour points (n, 2) of it are, as a cloth's is.
    """

    camera: Camera
    sheets: tuple[Laid, ...]
    outline: Chain | None
    seed: int
    paper: tuple[float, float, float] = (0.68, 0.72, 0.74)
    table: tuple[float, float, float] = (0.07, 0.11, 0.16)
    table_texture: float = 0.35
    blur_px: float = 0.8
    light_slope: tuple[float, float] = (0.15, -0.1)
    vignette: float = 0.25
    exposure: float = 0.95
    noise: float = 0.006
    quality: int = 90
    samples: int = 32
    covered: tuple[tuple[float, float, float, float], ...] = ()
    pattern: Callable[[Array], Array] | None = None
    shadow: Shadow | None = None
    cast: Cast | None = None
    lines: tuple[tuple[Array, float], ...] = field(default=())
    ink: tuple[float, float, float] = INK

    @cached_property
    def truth(self) -> Array:
        """(n, 2) points of the piece's outline on the table (mm), closed, the first not repeated."""
        assert self.outline is not None
        return flatten(self.outline, 0.002)[0][:-1]


def picture(scene: Scene) -> NDArray[np.uint8]:
    """The photograph (rows, columns, 3) as blue, green, red, before JPEG."""
    camera = scene.camera
    dice = np.random.default_rng(scene.seed)
    bare = _texture(scene, dice)
    light = _plain(scene, bare)
    _edges(scene, light, bare, dice)
    light = cv2.GaussianBlur(light, (0, 0), scene.blur_px) if scene.blur_px else light
    u = (np.arange(camera.width, dtype=np.float32) - camera.middle[0]) / (camera.width / 2)
    v = (np.arange(camera.height, dtype=np.float32) - camera.middle[1]) / (camera.height / 2)
    far = (u[None] ** 2 + v[:, None] ** 2) / 2
    shade = (1 + scene.light_slope[0] * u[None] + scene.light_slope[1] * v[:, None]) * (1 - scene.vignette * far)
    if scene.cast is not None:
        way = math.radians(scene.cast.way_deg)
        along = math.cos(way) * u[None] + math.sin(way) * v[:, None] - scene.cast.at
        shade *= 1 - scene.cast.depth / 2 * (1 + np.tanh(along / scene.cast.soft))
    light *= (shade * scene.exposure).astype(np.float32)[..., None]
    rough = dice.standard_normal(light.shape, dtype=np.float32)
    light += rough * np.sqrt(scene.noise**2 * (0.15 + np.maximum(light, 0.0)))
    return _srgb(light)


def jpeg(scene: Scene) -> bytes:
    """The photograph as a JPEG file."""
    done, data = cv2.imencode(".jpg", picture(scene), [cv2.IMWRITE_JPEG_QUALITY, scene.quality])
    assert done
    return data.tobytes()


def _srgb(light: NDArray[np.float32]) -> NDArray[np.uint8]:
    steps = np.linspace(0.0, 1.0, 65536)
    curve = np.where(steps <= 0.0031308, 12.92 * steps, 1.055 * steps ** (1 / 2.4) - 0.055)
    table = np.round(curve * 255).astype(np.uint8)
    return table[(np.clip(light, 0.0, 1.0) * 65535).astype(np.uint16)]


def _plain(scene: Scene, bare: NDArray[np.float32]) -> NDArray[np.float32]:
    """Every surface on the bare table, without care for its edges."""
    camera = scene.camera
    light = bare.copy()
    for colour, polygons in _surfaces(scene):
        mask = np.zeros((camera.height, camera.width), np.uint8)
        rings = [np.round(camera.seen(_fine(ring)) * 16).astype(np.int32) for ring in polygons]
        cv2.fillPoly(mask, rings, 1, shift=4)
        light[mask > 0] = colour
    return light


def _edges(scene: Scene, light: NDArray[np.float32], bare: NDArray[np.float32], dice: np.random.Generator) -> None:
    """The pixels within two of any edge, from the share of their area that each surface takes."""
    camera = scene.camera
    band = np.zeros((camera.height, camera.width), np.uint8)
    for _, polygons in _surfaces(scene):
        for ring in polygons:
            drawn = np.round(camera.seen(_fine(ring)) * 16).astype(np.int32)
            cv2.polylines(band, [drawn], True, 1, 3, shift=4)
    rows, columns = np.nonzero(band)
    for start in range(0, len(rows), 60_000):
        some = slice(start, start + 60_000)
        base = np.column_stack([columns[some], rows[some]]).astype(float)
        shift = dice.random((len(base), 1, 2))
        inner = (np.arange(scene.samples)[None, :, None] * _STEPS + shift) % 1.0 - 0.5
        table = camera.met((base[:, None] + inner).reshape(-1, 2))
        kinds = _kind(scene, table).reshape(-1, scene.samples)
        total = np.zeros((len(base), 3))
        for kind, colour in _colours(scene).items():
            share = (kinds == kind).mean(axis=1)[:, None]
            total += share * (bare[rows[some], columns[some]] if colour is None else np.array(colour))
        light[rows[some], columns[some]] = total


def _colours(scene: Scene) -> dict[int, tuple[float, float, float] | None]:
    return {0: None, 1: scene.paper, 2: WHITE, 3: BLACK, 4: COVER, 5: scene.ink}


def _kind(scene: Scene, points: Array) -> NDArray[np.int8]:
    """Which surface lies on top at points of the table (n, 2), by its number in ``_colours``."""
    kinds = np.zeros(len(points), np.int8)
    if scene.outline is not None:
        kinds[_inside(shapely.Polygon(scene.truth), points)] = 1
    for line, width in scene.lines:
        kinds[_inside(shapely.LineString(line).buffer(width / 2, quad_segs=32), points)] = 5
    for laid in scene.sheets:
        near = np.flatnonzero(np.hypot(*(points - laid.at).T) < 190)
        there = laid.back(points[near])
        paper = sheet_corners(A4)[2]
        on = (np.abs(there) <= paper).all(axis=1)
        kinds[near[on]] = 2
        kinds[near[on][_inside(black_parts(laid.sheet), there[on])]] = 3
    for box in scene.covered:
        kinds[_inside(shapely.box(*box), points)] = 4
    return kinds


def _inside(shape: Any, points: Array) -> NDArray[np.bool_]:
    shapely.prepare(shape)
    x0, y0, x1, y1 = shape.bounds
    near = (points[:, 0] >= x0) & (points[:, 0] <= x1) & (points[:, 1] >= y0) & (points[:, 1] <= y1)
    found = np.zeros(len(points), bool)
    found[near] = shapely.contains_xy(shape, points[near])
    return found


def _surfaces(scene: Scene) -> list[tuple[tuple[float, float, float], list[Array]]]:
    """Every surface on the table from below to above: colour, rings in mm (holes by even and odd)."""
    found: list[tuple[tuple[float, float, float], list[Array]]] = []
    if scene.outline is not None:
        found.append((scene.paper, [scene.truth]))
    for line, width in scene.lines:
        found.append((scene.ink, _rings(shapely.LineString(line).buffer(width / 2, quad_segs=32))))
    for laid in scene.sheets:
        found.append((WHITE, [laid.moved(_fine(sheet_corners(A4)))]))
        found.append((BLACK, [laid.moved(_fine(ring)) for ring in _rings(black_parts(laid.sheet))]))
    found += [(COVER, [shapely.get_coordinates(shapely.box(*box))[:-1]]) for box in scene.covered]
    return found


def _rings(shape: Any) -> list[Array]:
    return [
        shapely.get_coordinates(ring)[:-1]
        for polygon in shapely.get_parts(shape)
        for ring in (polygon.exterior, *polygon.interiors)
    ]


def _fine(ring: Array) -> Array:
    """A ring with a point at least every 4 mm, as straight lines bend in the lens."""
    return shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(ring), 4.0))[:-1]


def _texture(scene: Scene, dice: np.random.Generator) -> NDArray[np.float32]:
    """The table as the camera sees it: boards with grain across a weave of speckles."""
    size, step = 2048, 0.8
    grain = cv2.GaussianBlur(dice.standard_normal((size, size)).astype(np.float32), (0, 0), sigmaX=50, sigmaY=1.5)
    speck = cv2.GaussianBlur(dice.standard_normal((size, size)).astype(np.float32), (0, 0), 0.8)
    patch = cv2.GaussianBlur(dice.standard_normal((size, size)).astype(np.float32), (0, 0), 24)
    mixed = sum(part / part.std() * share for part, share in ((grain, 0.6), (speck, 0.5), (patch, 0.6)))
    strength = np.exp(scene.table_texture * np.asarray(mixed, dtype=np.float32))
    if scene.pattern is not None:
        at = (np.arange(size) - size / 2) * step
        places = np.stack(np.meshgrid(at, at), axis=-1).reshape(-1, 2)
        strength *= scene.pattern(places).reshape(size, size).astype(np.float32)
    if scene.shadow is not None:
        strength *= _shaded(scene, scene.shadow, size, step)
    camera = scene.camera
    corners = np.array([[0, 0], [camera.width, 0], [camera.width, camera.height], [0, camera.height]], float)
    flat = (camera.met(corners) / step + size / 2).astype(np.float32)
    across = cv2.getPerspectiveTransform(corners.astype(np.float32), flat)
    seen = cv2.warpPerspective(
        strength,
        across,
        (camera.width, camera.height),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REFLECT,
    )
    return seen[..., None] * np.array(scene.table, np.float32)


def _shaded(scene: Scene, shadow: Shadow, size: int, step: float) -> NDArray[np.float32]:
    """The share of the light that the piece's shadow leaves the table."""
    fallen = np.zeros((size, size), np.float32)
    ring = (scene.truth + shadow.falls) / step + size / 2
    cv2.fillPoly(fallen, [np.round(ring * 16).astype(np.int32)], 1.0, shift=4)
    return 1 - shadow.depth * cv2.GaussianBlur(fallen, (0, 0), shadow.soft / step)


# -- what is photographed ----------------------------------------------------------------------------------------------


def front_piece() -> Chain:
    """A piece of 450 by 650 mm with straight edges, curves, square and pointed corners, anticlockwise (mm)."""
    points = [
        straight((-225.0, -325.0), (200.0, -325.0)),
        chain([[(200.0, -325.0), (205.0, -200.0), (170.0, -90.0), (225.0, 60.0)]]),
        chain([[(225.0, 60.0), (150.0, 70.0), (135.0, 130.0), (150.0, 265.0)]]),
        straight((150.0, 265.0), (-45.0, 325.0)),
        chain([[(-45.0, 325.0), (-60.0, 250.0), (-120.0, 205.0), (-225.0, 205.0)]]),
        straight((-225.0, 205.0), (-225.0, -325.0)),
    ]
    return joined(points)


def scene(seed: int, change: Callable[[Scene], Scene] = lambda one: one) -> Scene:
    """A scene of 12 megapixels: the piece in the middle, four sheets at odd angles, all else by the dice."""
    dice = np.random.default_rng(1000 + seed)
    turn = math.radians(dice.uniform(-12, 12))
    cos, sin = math.cos(turn), math.sin(turn)
    piece = front_piece()
    outline = replace(piece, cubics=piece.cubics @ np.array([[cos, sin], [-sin, cos]]))
    spots = ((-440.0, 215.0), (440.0, 235.0), (-440.0, -235.0), (440.0, -215.0))
    laid = (
        Laid(number, (x + dice.uniform(-25, 25), y + dice.uniform(-25, 25)), dice.uniform(-35, 35) + 180 * (number % 2))
        for number, (x, y) in enumerate(spots, 1)
    )
    sheets = tuple(beside(one, outline) for one in laid)
    camera = aimed(
        sheets,
        focal=dice.uniform(2700, 3300),
        radial=dice.uniform(-0.07, 0.05),
        tilt=dice.uniform(0, 20),
        way=dice.uniform(0, 360),
        roll=dice.uniform(-8, 8),
    )
    made = Scene(
        camera,
        sheets,
        outline,
        seed,
        table_texture=dice.uniform(0.25, 0.6),
        blur_px=dice.uniform(0.6, 1.2),
        light_slope=(dice.uniform(-0.2, 0.2), dice.uniform(-0.2, 0.2)),
        vignette=dice.uniform(0.1, 0.35),
        exposure=dice.uniform(0.7, 0.95),
        noise=dice.uniform(0.006, 0.016),
    )
    return change(made)


#: No sheet is laid nearer to the piece than this (mm).
CLEAR_MM = 12.0


def beside(laid: Laid, outline: Chain) -> Laid:
    """The sheet slid outward, away from the table's middle, until it lies clear of the piece."""
    piece = shapely.Polygon(flatten(outline, 0.2)[0])
    while piece.distance(shapely.Polygon(laid.moved(sheet_corners(A4)))) < CLEAR_MM:
        laid = replace(laid, at=(laid.at[0] * 1.01, laid.at[1] * 1.01))
    return laid


def aimed(sheets: tuple[Laid, ...], focal: float, radial: float, tilt: float, way: float, roll: float) -> Camera:
    """A camera at the height from which all sheets just fill the picture with a little to spare."""
    corners = np.concatenate([laid.moved(sheet_corners(A4)) for laid in sheets])
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    for height in np.arange(500.0, 2500.0, 20.0):
        back = height * math.tan(math.radians(tilt))
        at = (
            middle[0] - back * math.cos(math.radians(way)),
            middle[1] - back * math.sin(math.radians(way)),
            float(height),
        )
        camera = Camera(4000, 3000, focal, radial, at, tilt, way, roll)
        seen = camera.seen(corners)
        if (seen > 60).all() and (seen < np.array([4000, 3000]) - 60).all():
            return camera
    raise AssertionError("no height shows all sheets")


def small(scene: Scene) -> Scene:
    """The same with a quarter of the pixels, where exactness is not asked for."""
    camera = scene.camera
    return replace(
        scene, camera=replace(camera, width=2000, height=1500, focal=camera.focal / 2), blur_px=0.6, samples=6
    )


@cache
def usual_small() -> NDArray[np.uint8]:
    """One small photograph of a whole scene, seed 31, made once for all tests that need no exactness."""
    return picture(small(scene(31)))

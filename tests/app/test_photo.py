"""A cut-out piece from one photograph: 12 megapixels, four marker sheets anyhow, tilt, lens, uneven light, noise, JPEG.

Bounds: outline within 0.3 mm rms and 1.2 mm at worst, size within 0.15 %, and a stated error that is honest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import cv2
import numpy as np
import pytest
import shapely

from app.photo.marker_sheets import sheet_corners
from app.photo.photographs import Flattened, PhotoOutline, by_markers, pieces
from app.photo.reading import read_picture
from geometry.papers import A4
from tests.harder_scenes import FAMILIES, harder
from tests.photo_scenes import CLEAR_MM, Camera, Cast, Scene, jpeg, picture, scene, small
from tests.photo_truth import Worth, worth

RMS_MM, WORST_MM, SIZE = 0.3, 1.2, 0.0015
AIMED_RMS_MM = 0.19


@dataclass(frozen=True)
class Taken:
    scene: Scene
    flattened: Flattened
    found: PhotoOutline
    worth: Worth


@cache
def taken(seed: int) -> Taken:
    made = scene(seed)
    flattened = by_markers(read_picture(jpeg(made)).pixels)
    (found,) = pieces(flattened)
    return Taken(made, flattened, found, worth(found.outline.chain, made))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_outline_is_within_its_bounds(seed: int) -> None:
    got = taken(seed)
    assert got.worth.rms < AIMED_RMS_MM and got.worth.worst < WORST_MM and abs(got.worth.size) < SIZE, got.worth
    assert got.worth.corner < WORST_MM
    assert len(got.found.outline.sides) == 6, "the piece has six corners"
    assert sum(side.is_straight for side in got.found.outline.sides) == 3
    assert got.worth.rms < 1.5 * got.found.error_mm < 1.0


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_bright_edge_does_not_grow(seed: int) -> None:
    """Taken from the values instead of the light, the outline would lie 0.1 to 0.2 mm outside."""
    assert abs(taken(seed).worth.outward) < 0.04


def test_the_flat_picture_shows_the_table_at_true_size() -> None:
    """Points of the table, found in the picture by the scene's own camera, keep their distances."""
    got = taken(1)
    table = np.random.default_rng(5).uniform(-300, 300, (40, 2))
    laid = got.flattened.view.table(got.scene.camera.seen(table))
    true, flat = (np.linalg.norm(points[:, None] - points[None], axis=2) for points in (table, laid))
    assert np.abs(true - flat).max() < 0.1
    again = got.flattened.view.table(got.flattened.view.pixels(laid))
    assert np.abs(again - laid).max() < 1e-6


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_twenty_scenes_keep_the_bounds_and_state_their_error_honestly() -> None:
    honest = close = 0
    for seed in range(1, 21):
        got = taken.__wrapped__(seed)
        stated = got.found.error_mm
        print(f"{seed}: {got.worth}, stated {stated:.3f}")
        assert got.worth.rms < RMS_MM and got.worth.worst < WORST_MM and abs(got.worth.size) < SIZE, (seed, got.worth)
        assert stated <= 1.0
        honest += got.worth.rms < 1.5 * stated
        close += stated <= 3 * got.worth.rms
    assert honest >= 18 and close >= 15, (honest, close)


# -- harder tables ----------------------------------------------------------------------------------------------------


def test_strong_grain_leads_the_outline_nowhere() -> None:
    """A table whose streaks are as light as the paper; four times fewer pixels than a phone's."""
    made = harder("harder table", 403)
    (found,) = pieces(by_markers(picture(small(made))))
    got = worth(found.outline.chain, made)
    assert got.rms < RMS_MM and got.worst < WORST_MM, got
    assert got.rms < 1.5 * found.error_mm <= 1.0


def test_a_shadow_across_the_paper_leads_the_outline_nowhere() -> None:
    """A third of the light gone over one corner of the piece, as the photographer's own shadow takes it."""
    made = scene(501, lambda one: replace(one, cast=Cast(40.0, 0.32, 0.06, 0.35)))
    (found,) = pieces(by_markers(picture(small(made))))
    got = worth(found.outline.chain, made)
    assert got.rms < RMS_MM and got.worst < WORST_MM, got
    assert got.rms < 1.5 * found.error_mm <= 1.0


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_harder_scenes_keep_the_bounds_and_state_their_error_honestly() -> None:
    """Three of each family; seeds on which nothing was tuned."""
    scenes = [(family, seed) for family in FAMILIES for seed in (700, 701, 702)]
    honest = close = 0
    for family, seed in scenes:
        made = harder(family, seed)
        (found,) = pieces(by_markers(read_picture(jpeg(made)).pixels))
        got, stated = worth(found.outline.chain, made), found.error_mm
        print(f"{family} {seed}: {got}, stated {stated:.3f}")
        assert got.rms < RMS_MM and got.worst < WORST_MM and abs(got.size) < SIZE, (family, seed, got)
        assert stated <= 1.0
        honest += got.rms < 1.5 * stated
        close += stated <= 3 * got.rms
    assert honest >= 0.9 * len(scenes) and close >= 0.75 * len(scenes), (honest, close)


# -- the scenes themselves --------------------------------------------------------------------------------------------


def test_no_sheet_is_laid_on_the_piece() -> None:
    for seed in range(101, 131):
        made = scene(seed)
        piece = shapely.Polygon(made.truth)
        gaps = [piece.distance(shapely.Polygon(laid.moved(sheet_corners(A4)))) for laid in made.sheets]
        assert min(gaps) >= CLEAR_MM, seed


@pytest.mark.parametrize("seed", range(4))
def test_the_scenes_camera_sees_what_opencv_says(seed: int) -> None:
    """The camera written for the tests against OpenCV's projectPoints, which knows nothing of it."""
    dice = np.random.default_rng(seed)
    camera = Camera(
        4000,
        3000,
        3000.0,
        dice.uniform(-0.1, 0.1),
        (30.0, -50.0, 1000.0),
        dice.uniform(0, 20),
        dice.uniform(0, 360),
        7.0,
    )
    table = dice.uniform(-400, 400, (50, 2))
    away = np.column_stack([table, np.zeros(50)])
    turn, _ = cv2.Rodrigues(camera.axes)
    lens = np.array([[3000.0, 0, 1999.5], [0, 3000.0, 1499.5], [0, 0, 1]])
    shift = -camera.axes @ np.array(camera.at)
    seen, _ = cv2.projectPoints(away, turn, shift, lens, np.array([camera.radial, 0.0, 0.0, 0.0]))
    assert np.abs(seen[:, 0] - camera.seen(table)).max() < 1e-6
    assert np.abs(camera.met(camera.seen(table)) - table).max() < 1e-6
    assert np.linalg.det(camera.axes) == pytest.approx(1.0)

"""Photographs that are harder than they should be: tables nearly as light as the paper, strong grain, cloths with a
pattern, shadows, dark paper on a light table, little contrast, pieces of other shapes.

Each family is drawn by the dice of its seed from ``photo_scenes``; what is measured on them stands in
docs/tracing-photos.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from geometry.lines import Chain, chain, joined, straight
from tests.photo_scenes import Array, Scene, Shadow, beside, scene


def harder_table(one: Scene, dice: np.random.Generator) -> Scene:
    """Twice as light, strong grain, more noise and blur, JPEG 85."""
    return replace(
        one,
        table=(0.14, 0.22, 0.32),
        table_texture=float(dice.uniform(0.5, 0.8)),
        noise=float(dice.uniform(0.016, 0.026)),
        blur_px=float(dice.uniform(1.1, 1.7)),
        quality=85,
    )


def light_table(one: Scene, dice: np.random.Generator) -> Scene:
    """Nearly as light as the paper in places."""
    lit = float(dice.uniform(0.28, 0.42))
    return replace(one, table=(0.8 * lit, 0.95 * lit, 1.05 * lit), table_texture=float(dice.uniform(0.15, 0.45)))


def little_contrast(one: Scene, dice: np.random.Generator) -> Scene:
    """A plain grey table only a third darker than the paper."""
    share = float(dice.uniform(0.5, 0.72))
    blue, green, red = one.paper
    return replace(one, table=(share * blue, share * green, share * red), table_texture=float(dice.uniform(0.03, 0.1)))


def dark_paper(one: Scene, dice: np.random.Generator) -> Scene:
    """Brown paper on a light table with grain."""
    lit = float(dice.uniform(0.5, 0.7))
    return replace(
        one,
        paper=(0.10, 0.17, 0.24),
        table=(0.85 * lit, 0.95 * lit, lit),
        table_texture=float(dice.uniform(0.1, 0.3)),
    )


def shadowed(one: Scene, dice: np.random.Generator) -> Scene:
    """The paper stands up a little and throws a shadow to one side, on a table that is not dark."""
    way, far = float(dice.uniform(0, 2 * np.pi)), float(dice.uniform(1.0, 4.0))
    lit = float(dice.uniform(0.15, 0.35))
    return replace(
        one,
        table=(0.9 * lit, lit, 1.1 * lit),
        table_texture=float(dice.uniform(0.1, 0.35)),
        shadow=Shadow(
            (far * math.cos(way), far * math.sin(way)), float(dice.uniform(0.4, 1.5)), float(dice.uniform(0.3, 0.6))
        ),
    )


def dark_paper_shadowed(one: Scene, dice: np.random.Generator) -> Scene:
    """Dark paper with a shadow of nearly its own darkness beside it."""
    return replace(shadowed(one, dice), paper=(0.10, 0.15, 0.2), table=(0.55, 0.6, 0.62), table_texture=0.1)


def patterned(one: Scene, dice: np.random.Generator) -> Scene:
    """A tablecloth of checks or stripes, its lightest parts lighter than half the paper."""
    turn, wide = float(dice.uniform(0, np.pi)), float(dice.uniform(6, 40))
    strength = float(dice.uniform(0.5, 1.3))
    checks = bool(dice.integers(2))
    lit = float(dice.uniform(0.08, 0.14))

    def lighter(points: Array) -> Array:
        u = points @ np.array([math.cos(turn), math.sin(turn)])
        v = points @ np.array([-math.sin(turn), math.cos(turn)])
        bands = (np.floor(u / wide) % 2 + (np.floor(v / wide) % 2 if checks else 0)) / (2 if checks else 1)
        return np.asarray(np.exp(strength * bands))

    return replace(one, table=(1.2 * lit, lit, 0.8 * lit), table_texture=0.1, pattern=lighter)


FAMILIES: dict[str, Callable[[Scene, np.random.Generator], Scene]] = {
    "harder table": harder_table,
    "light table": light_table,
    "little contrast": little_contrast,
    "dark paper": dark_paper,
    "shadowed": shadowed,
    "dark paper, shadowed": dark_paper_shadowed,
    "patterned": patterned,
}


def harder(family: str, seed: int) -> Scene:
    """A scene of a family: the usual piece for even seeds, one of the other shapes for odd ones."""

    def change(one: Scene) -> Scene:
        dice = np.random.default_rng(7000 + seed)
        made = FAMILIES[family](one, dice)
        if seed % 2 == 0:
            return made
        shape = SHAPES[seed // 2 % len(SHAPES)]()
        turn = math.radians(float(dice.uniform(-15, 15)))
        cos, sin = math.cos(turn), math.sin(turn)
        outline = replace(shape, cubics=shape.cubics @ np.array([[cos, sin], [-sin, cos]]))
        return replace(made, outline=outline, sheets=tuple(beside(laid, outline) for laid in made.sheets))

    return scene(seed, change)


def sleeve() -> Chain:
    """A sleeve of 430 by 560 mm: a cap of four curves, sides that lean, a curved hem."""
    return joined(
        [
            chain([[(-150.0, -280.0), (-60.0, -270.0), (60.0, -290.0), (150.0, -280.0)]]),
            straight((150.0, -280.0), (215.0, 120.0)),
            chain([[(215.0, 120.0), (150.0, 130.0), (130.0, 190.0), (100.0, 225.0)]]),
            chain([[(100.0, 225.0), (70.0, 260.0), (40.0, 280.0), (0.0, 280.0)]]),
            chain([[(0.0, 280.0), (-45.0, 280.0), (-80.0, 250.0), (-110.0, 210.0)]]),
            chain([[(-110.0, 210.0), (-140.0, 170.0), (-160.0, 125.0), (-215.0, 120.0)]]),
            straight((-215.0, 120.0), (-150.0, -280.0)),
        ]
    )


def skirt() -> Chain:
    """A flared skirt of 500 by 600 mm: long gentle curves, a square at the fold, a pointed corner at the hem."""
    return joined(
        [
            chain([[(-250.0, -300.0), (-80.0, -300.0), (100.0, -280.0), (245.0, -225.0)]]),
            chain([[(245.0, -225.0), (170.0, -20.0), (60.0, 60.0), (50.0, 290.0)]]),
            chain([[(50.0, 290.0), (-40.0, 272.0), (-150.0, 268.0), (-250.0, 268.0)]]),
            straight((-250.0, 268.0), (-250.0, -300.0)),
        ]
    )


def collar() -> Chain:
    """A round collar of 420 by 330 mm: curves that nearly meet a point, no straight edge but one."""
    return joined(
        [
            straight((-200.0, -150.0), (-130.0, -155.0)),
            chain([[(-130.0, -155.0), (-100.0, 40.0), (60.0, 60.0), (120.0, -120.0)]]),
            chain([[(120.0, -120.0), (160.0, -165.0), (225.0, -120.0), (205.0, -60.0)]]),
            chain([[(205.0, -60.0), (150.0, 180.0), (-180.0, 240.0), (-200.0, -150.0)]]),
        ]
    )


SHAPES = (sleeve, skirt, collar)

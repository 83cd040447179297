"""The one comparison of values, exact or within a tolerance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass

import numpy as np

from geometry.tolerances import MEET_MM


def same(a: object, b: object, tolerance: float = MEET_MM) -> bool:
    """The one comparison of values: equal in kind and text, and every number within ``tolerance`` (mm)."""
    if a is b:
        return True
    if isinstance(a, np.ndarray) or isinstance(b, np.ndarray):
        x, y = np.asarray(a), np.asarray(b)
        if x.shape != y.shape:
            return False
        if x.dtype.kind == "f":
            return bool((np.abs(x - y) <= tolerance).all())
        return bool((x == y).all())
    if isinstance(a, bool | str) or a is None:
        return type(a) is type(b) and a == b
    if isinstance(a, int | float) and isinstance(b, int | float):
        return abs(a - b) <= tolerance
    if isinstance(a, Mapping) and isinstance(b, Mapping):
        return a.keys() == b.keys() and all(same(a[key], b[key], tolerance) for key in a)
    if type(a) is not type(b):
        return False
    if isinstance(a, tuple | list) and isinstance(b, tuple | list):
        return len(a) == len(b) and all(same(x, y, tolerance) for x, y in zip(a, b, strict=True))
    if is_dataclass(a):
        return all(same(getattr(a, f.name), getattr(b, f.name), tolerance) for f in fields(a))
    return a == b

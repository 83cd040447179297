"""The alterations: one file each, found by walking this folder.

Each module defines ``ALTERATION``. Nothing else has to be told of a new one.
"""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from geometry.alterations.base import Alteration
from geometry.errors import PatternError


@cache
def everything() -> tuple[Alteration, ...]:
    """All alterations in the order in which a fitter goes over the body."""
    found = []
    for module in sorted(pkgutil.iter_modules(__path__), key=lambda m: m.name):
        if module.name != "base":
            found.append(importlib.import_module(f"{__name__}.{module.name}").ALTERATION)
    return tuple(sorted(found, key=lambda alteration: (alteration.order, alteration.name)))


def find(name: str) -> Alteration:
    """The alteration of a name; raises PatternError when there is none."""
    for alteration in everything():
        if alteration.name == name:
            return alteration
    raise PatternError(f"There is no alteration “{name}”; there are {', '.join(a.name for a in everything())}.")

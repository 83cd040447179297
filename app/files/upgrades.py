"""Older garment files, brought up to date by pure steps, each from one version of the file to the next.

A step takes the plain content of a file of its version and returns that of the next; it never changes what it is
given. Step n (from 1) leads from version n to n + 1. Of every version one file is kept and opened by the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

Step = Callable[[dict[str, Any]], dict[str, Any]]


def _with_size_table(plain: dict[str, Any]) -> dict[str, Any]:
    """Version 2 may say what body each size is for; a file of version 1 says nothing of it."""
    return plain


def _with_openings(plain: dict[str, Any]) -> dict[str, Any]:
    """Version 3 may say how far the cloth stretches, who gets in, and where; an older file says nothing of it."""
    return plain


#: From version 1 on, in order.
STEPS: tuple[Step, ...] = (_with_size_table, _with_openings)


def newest(steps: Sequence[Step] = STEPS) -> int:
    """The version that is written."""
    return len(steps) + 1


def upgraded(plain: dict[str, Any], version: int, steps: Sequence[Step] = STEPS) -> dict[str, Any]:
    """The content of a file of ``version`` (1 to the newest) as the newest version has it."""
    for number, step in enumerate(steps[version - 1 :], version + 1):
        plain = step(plain) | {"version": number}
    return plain

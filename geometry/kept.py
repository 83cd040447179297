"""Values that never change: what is reckoned of them once, and the same value with something changed."""

from __future__ import annotations

import functools
from collections.abc import Hashable
from typing import Any, Self, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

T = TypeVar("T")
Key = TypeVar("Key", bound=Hashable)
Frozen = TypeVar("Frozen")
Number = TypeVar("Number", bound=np.generic)


def frozen(array: NDArray[Number]) -> NDArray[Number]:
    """The same array, read-only from now on."""
    # By position it costs a third of what ``flags.writeable`` does, at every line that is made.
    array.setflags(False)  # type: ignore[call-arg]
    return array


def changed(value: Frozen, **changes: Any) -> Frozen:
    """As ``dataclasses.replace``, quicker, for a frozen value; it is checked as when it is built."""
    made = unchecked(value, **changes)
    kind: Any = type(value)
    if hasattr(kind, "__post_init__"):
        kind.__post_init__(made)
    return made


def unchecked(value: Frozen, **changes: Any) -> Frozen:
    """As ``changed``, for a change that cannot break what is checked."""
    kind: Any = type(value)
    made: Frozen = object.__new__(kind)
    old, new = value.__dict__, made.__dict__
    for name in kind.__match_args__:
        new[name] = changes[name] if name in changes else old[name]
    return made


class kept_property(functools.cached_property[T]):
    """As ``functools.cached_property``, without the lock that it takes before Python 3.12.

    Two threads may both reckon the value, which comes out the same.
    """

    @overload
    def __get__(self, instance: None, owner: type[Any] | None = None) -> Self: ...
    @overload
    def __get__(self, instance: object, owner: type[Any] | None = None) -> T: ...
    def __get__(self, instance: object | None, owner: type[Any] | None = None) -> Self | T:
        if instance is None:
            return self
        value = self.func(instance)
        instance.__dict__[self.attrname] = value  # type: ignore[index]
        return value


class Few(dict[Key, T]):
    """What was reckoned for a few questions, by the question; at ``most`` so many."""

    def __init__(self, most: int) -> None:
        self._most = most

    def keep(self, key: Key, value: T) -> T:
        if len(self) >= self._most:
            self.clear()
        self[key] = value
        return value

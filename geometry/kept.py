"""Properties reckoned once, for values that never change."""

from __future__ import annotations

import functools
from typing import Any, Self, TypeVar, overload

T = TypeVar("T")


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
        instance.__dict__[str(self.attrname)] = value
        return value

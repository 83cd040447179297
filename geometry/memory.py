"""What was computed before is remembered by the identity of what it was made from."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, Generic, Protocol, TypeVar

T = TypeVar("T")


class Recall(Protocol):
    """What ``make`` returned for the same input objects and equal ``extra``, or what it returns now."""

    def __call__(self, stage: str, inputs: tuple[object, ...], extra: Hashable, make: Callable[[], T]) -> T: ...


def computed_anew(stage: str, inputs: tuple[object, ...], extra: Hashable, make: Callable[[], T]) -> T:
    """Remembers nothing."""
    return make()


class Later(Generic[T]):
    """What is remembered empty and filled in once, so that many of a kind can be reckoned together."""

    def __init__(self) -> None:
        self.value: T | None = None


class Memory:
    """Stages remembered by the identity of what they were made from; bounded, and owned by one session.

    ``computed`` counts by stage what was really computed, so that a test can see what was not.
    """

    def __init__(self, most: int = 1200) -> None:
        self.computed: dict[str, int] = {}
        self._most = most
        self._kept: OrderedDict[tuple[Hashable, ...], tuple[tuple[object, ...], Any]] = OrderedDict()

    def holds(self, stage: str, inputs: tuple[object, ...], extra: Hashable) -> bool:
        """Whether ``recall`` would find it."""
        return (stage, tuple(map(id, inputs)), extra) in self._kept

    def recall(self, stage: str, inputs: tuple[object, ...], extra: Hashable, make: Callable[[], T]) -> T:
        """What ``make`` returned for the same input objects and equal ``extra``, or what it returns now."""
        key = (stage, tuple(map(id, inputs)), extra)
        kept = self._kept.get(key)
        if kept is not None:
            self._kept.move_to_end(key)
            found: T = kept[1]
            return found
        value = make()
        self.computed[stage] = self.computed.get(stage, 0) + 1
        self._kept[key] = (inputs, value)
        if len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return value

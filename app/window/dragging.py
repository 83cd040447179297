"""Dragging a handle: from where the pointer is to what the note's number becomes, told at most once a frame."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, QPointF, Qt, QTimer, Signal
from PySide6.QtGui import QNativeGestureEvent
from PySide6.QtWidgets import QGestureEvent, QPinchGesture, QWidget

from app.handles import Handle
from geometry.motions import Point

FRAME_MS = 16
#: What a dragged number is rounded to: mm when lengths are in cm, 1/16 in, hundredths of a share; and finely.
STEPS = {("mm", "cm"): 1.0, ("mm", "in"): 25.4 / 16, ("share", "cm"): 0.01, ("share", "in"): 0.01}
FINER = 10.0
FINER_INCH = 4.0


@dataclass(frozen=True)
class Drag:
    """A drag in progress: the handle as it lay on the table, where the pointer took it (mm), and its number then."""

    handle: Handle
    start: Point

    def value(self, now: Point, units: str, fine: bool) -> float:
        """The number for a pointer at ``now`` (mm on the table)."""
        return stepped(self.handle, self.handle.value_at(self.start, now, self.handle.value), units, fine)


def step_of(handle: Handle, units: str, fine: bool) -> float:
    """What the number of a handle changes by at one stroke of a key."""
    step = STEPS[handle.unit, units]
    if not fine:
        return step
    return step / (FINER_INCH if units == "in" and handle.unit == "mm" else FINER)


def stepped(handle: Handle, value: float, units: str, fine: bool) -> float:
    """A number rounded to the step and kept within the handle's limits; a strip is never dragged away altogether."""
    step = step_of(handle, units, fine)
    least = max(handle.least, step) if handle.main else handle.least
    return min(max(round(value / step) * step, least), handle.most)


class OnceAFrame(QObject):
    """Passes on what it is told at most once a frame; the newest wins and nothing is told twice."""

    told = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._waiting: tuple[object, ...] | None = None
        self._last: tuple[object, ...] | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self._pass_on)

    def tell(self, *what: object) -> None:
        """Remember the newest; the first after a pause goes out at once."""
        self._waiting = what
        if not self._timer.isActive():
            self._pass_on()

    def flush(self) -> None:
        """Pass on what waits now, and start afresh."""
        self._timer.stop()
        self._pass_on()
        self._timer.stop()
        self._last = None

    def _pass_on(self) -> None:
        waiting, self._waiting = self._waiting, None
        if waiting is None or waiting == self._last:
            return
        self._last = waiting
        self._timer.start()
        self.told.emit(waiting)


class Pinches(QObject):
    """Watches a widget for two fingers, on a pad or on the screen.

    A filter and not an override of ``event``: below one, an exception in another handler takes the process down.
    """

    #: by how much larger, and about which pixel of the widget
    pinched = Signal(float, QPointF)

    def __init__(self, widget: QWidget) -> None:
        super().__init__(widget)
        self._widget = widget
        widget.grabGesture(Qt.GestureType.PinchGesture)
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QNativeGestureEvent) and event.gestureType() is Qt.NativeGestureType.ZoomNativeGesture:
            self.pinched.emit(1.0 + event.value(), event.position())
            return True
        if isinstance(event, QGestureEvent):
            pinch = event.gesture(Qt.GestureType.PinchGesture)
            if isinstance(pinch, QPinchGesture):
                centre = self._widget.mapFromGlobal(pinch.centerPoint())
                self.pinched.emit(pinch.scaleFactor(), centre)
                return True
        return False

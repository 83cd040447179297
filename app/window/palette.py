"""The window's colours, by what they mean: a calm light palette and a dark one. Paper is light in both.

Warm (``change``) is what is being changed, cool (``measured``) what was measured. No state is told by colour alone.
Text reaches 4.5:1 on everything it lies on and lines that matter 3:1 (WCAG 2.2, 1.4.3 and 1.4.11); ``pairs`` lists
what lies on what.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

TEXT_CONTRAST = 4.5
LINE_CONTRAST = 3.0


@dataclass(frozen=True)
class Palette:
    """Colours as "#rrggbb". The ``paper`` group is for what is drawn on paper, the ``mat`` group for the mat."""

    name: str
    bar: str
    strip: str
    card: str
    well: str
    ink: str
    quiet: str
    line: str
    hairline: str
    change: str
    change_soft: str
    change_ink: str
    on_change: str
    measured: str
    measured_soft: str
    on_measured: str
    mat: str
    mat_grid: str
    mat_grid_strong: str
    mat_ink: str
    mat_change: str
    mat_measured: str
    mat_ghost: str
    tape: str
    tape_ink: str
    paper: str = "#fffef9"
    paper_ink: str = "#25262c"
    paper_quiet: str = "#5f594d"
    paper_ghost: str = "#7a7566"
    paper_change: str = "#b0402a"
    paper_measured: str = "#1c6872"


LIGHT = Palette(
    name="light",
    bar="#fbf8f1",
    strip="#efe8d9",
    card="#fffefa",
    well="#f6f1e5",
    ink="#25262c",
    quiet="#5f594d",
    line="#86806f",
    hairline="#d8cfba",
    change="#b0402a",
    change_soft="#fbe9dd",
    change_ink="#9c3522",
    on_change="#ffffff",
    measured="#1c6872",
    measured_soft="#e0eff0",
    on_measured="#ffffff",
    mat="#e4e9e2",
    mat_grid="#d6ddd4",
    mat_grid_strong="#c3cdc2",
    mat_ink="#25262c",
    mat_change="#b0402a",
    mat_measured="#1c6872",
    mat_ghost="#6f7468",
    tape="#f0c64a",
    tape_ink="#25262c",
)

DARK = Palette(
    name="dark",
    bar="#24272b",
    strip="#1c1f22",
    card="#2e3236",
    well="#383d42",
    ink="#f2eee4",
    quiet="#bcb6a8",
    line="#868b8c",
    hairline="#43494e",
    change="#f0957a",
    change_soft="#46302a",
    change_ink="#f6ad96",
    on_change="#241512",
    measured="#74c4ca",
    measured_soft="#233c3f",
    on_measured="#10211f",
    mat="#27302d",
    mat_grid="#2e3935",
    mat_grid_strong="#3a4742",
    mat_ink="#f2eee4",
    mat_change="#f0957a",
    mat_measured="#74c4ca",
    mat_ghost="#8f9a92",
    tape="#b8963a",
    tape_ink="#1c1f22",
)


def pairs(palette: Palette) -> Iterator[tuple[str, str, float]]:
    """Every pair of colour names that lie on each other, and the contrast they must reach."""
    grounds = ("bar", "strip", "card", "well")
    for ground in grounds:
        for text in ("ink", "quiet", "change_ink"):
            yield text, ground, TEXT_CONTRAST
    for ground in ("bar", "strip", "card"):
        yield "measured", ground, TEXT_CONTRAST
        yield "change", ground, TEXT_CONTRAST
        yield "line", ground, LINE_CONTRAST
    yield from (
        ("change_ink", "change_soft", TEXT_CONTRAST),
        ("ink", "change_soft", TEXT_CONTRAST),
        ("change", "change_soft", LINE_CONTRAST),
        ("on_change", "change", TEXT_CONTRAST),
        ("measured", "measured_soft", TEXT_CONTRAST),
        ("ink", "measured_soft", TEXT_CONTRAST),
        ("on_measured", "measured", TEXT_CONTRAST),
        ("mat_ink", "mat", TEXT_CONTRAST),
        ("mat_change", "mat", TEXT_CONTRAST),
        ("mat_measured", "mat", TEXT_CONTRAST),
        ("mat_ghost", "mat", LINE_CONTRAST),
        ("tape_ink", "tape", TEXT_CONTRAST),
        ("paper_ink", "paper", TEXT_CONTRAST),
        ("paper_quiet", "paper", TEXT_CONTRAST),
        ("paper_change", "paper", TEXT_CONTRAST),
        ("paper_measured", "paper", TEXT_CONTRAST),
        ("paper_ghost", "paper", LINE_CONTRAST),
    )


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    lighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def _luminance(colour: str) -> float:
    """Relative luminance, 0 black to 1 white (WCAG 2.2)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

"""What is chosen before pages are printed: paper, how pages join, which way they lie, what is laid on them. No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import Literal

from app import outputs
from app.laying import Laying
from app.printing import page_names
from geometry.laid_by_hand import Arrangement
from geometry.papers import A4, PAPERS, Paper
from geometry.pipeline import Draft, draft
from geometry.sheets import SheetSettings
from geometry.toiles import toile

Way = Literal["upright", "landscape", "whichever takes fewer"]
WAYS: tuple[Way, ...] = ("upright", "landscape", "whichever takes fewer")


@dataclass(frozen=True)
class PrintChoice:
    """One print. An ``overlap_mm`` of 0 has pages meet edge to edge; ``whole`` opens halves out, ``toile`` puts 25 mm
    at every seam; ``freely`` lets any piece lie askew; ``again`` names pages to print again, empty for all of them;
    ``before`` draws the outline as traced, ``shaded`` what was altered in grey."""

    paper: Paper = A4
    margin_mm: float = 6.35
    overlap_mm: float = 12.0
    way: Way = "upright"
    whole: bool = False
    toile: bool = False
    freely: bool = False
    again: str = ""
    before: bool = False
    shaded: bool = False

    def settings(self) -> tuple[SheetSettings, ...]:
        """How pages may be cut, one for each way they may lie. Raises PatternError where nothing could be printed."""
        upright = SheetSettings(self.paper, self.margin_mm, self.overlap_mm)
        lying = replace(upright, landscape=True)
        return {"upright": (upright,), "landscape": (lying,)}.get(self.way, (upright, lying))

    def names(self) -> frozenset[str] | None:
        """The pages to print again, None for all. Raises PatternError for what names no page."""
        return page_names(self.again.strip() or None)

    def options(self, settings: SheetSettings) -> list[str]:
        """What the command line is told, for pages that lie as the settings say."""
        paper = settings.paper
        told = [f"--paper={paper.width_mm!r}mm x {paper.height_mm!r}mm"]
        told = [f"--paper={named}"] if (named := name_of(paper)) else told
        told += [f"--overlap={settings.overlap_mm!r}mm", f"--margin={settings.margin_mm!r}mm"]
        ways = {"--landscape": settings.landscape, "--opened": self.whole, "--toile": self.toile}
        ways |= {"--before": self.before, "--shaded": self.shaded}
        told += [option for option, chosen in ways.items() if chosen]
        return [*told, f"--pages={self.again.strip()}"] if self.again.strip() else told


@dataclass(frozen=True)
class LaidFor:
    """What an arrangement by hand was made for: it is kept for these pages and these pieces alone."""

    settings: SheetSettings
    whole: bool
    toile: bool


def name_of(paper: Paper) -> str:
    """The name by which the command line knows a paper; empty for a size of her own."""
    return next((name for name, known in PAPERS.items() if known == paper), "")


def laying_for(
    drafted: Draft, choice: PrintChoice, by_hand: dict[LaidFor, Arrangement], beside: outputs.Beside = outputs.ALONE,
    found: Mapping[SheetSettings, Arrangement] = MappingProxyType({}),
) -> tuple[LaidFor, Laying]:
    """The pieces laid as the program does, or as they were laid by hand for such pages before.

    ``beside`` is what is drawn and said beside their own lines; ``found`` is how the program lays them askew, where
    that was looked for.

    Raises PatternError where the pieces cannot be laid.
    """
    pieces = for_toile(drafted) if choice.toile else drafted
    layings = []
    for way in choice.settings():
        drawn = replace(beside, before=choice.before, shaded=choice.shaded)
        lay = partial(outputs.page_sheet_as, pieces, way, whole=choice.whole, beside=drawn)
        sheet = lay(found[way]) if way in found else outputs.page_sheet(pieces, way, whole=choice.whole, beside=drawn)
        layings.append(Laying(sheet, way, lay, freely=choice.freely))
    best = min(layings, key=lambda laying: laying.own.sheets)
    key = LaidFor(best.settings, choice.whole, choice.toile)
    hand = by_hand.get(key)
    if hand is not None and {one.piece for one in hand} == {one.piece_id for one in best.drawings}:
        best.take(hand)
    return key, best


def for_toile(drafted: Draft) -> Draft:
    """The same garment and notes, for a fitting toile."""
    return draft(*toile(drafted.garment, [step.note for step in drafted.followed.steps]))

"""Walking the seams: do sewn edges still match in length, do notches meet, do corners run on smoothly?

Limits: up to 0.8 mm true (0.03 in, a published limit for computer-made patterns), 1/16 in notice, 1/8 in warn,
above that a fault (Threads no. 200, 2018, "10 patternwork skills").
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from geometry.findings import Finding, Level
from geometry.garments import EdgeRef, Garment, Match, Seam, Stretch, StretchKind
from geometry.notes import length_at
from geometry.readings import mm_words
from geometry.stages import Followed, SeamNotch, SeamWalk, StretchWalk, outside_range
from geometry.tolerances import NOTICE_MM, TRUE_MM, VERDICT_STEP_MM, WARN_MM

TRUE, EASE, NOTICE, WARN, FAULT = "true", "ease", "notice", "warn", "fault"
_RANK = {TRUE: 0, EASE: 0, NOTICE: 1, WARN: 2, FAULT: 3}
_LEVELS = {NOTICE: Level.NOTICE, WARN: Level.WARN, FAULT: Level.FAULT}


def verdict(difference: float, least: float = 0.0, most: float = 0.0) -> str:
    """The verdict on a difference (mm, second less first) whose allowed range runs from least to most."""
    outside = round(abs(outside_range(difference, least, most)) / VERDICT_STEP_MM) * VERDICT_STEP_MM
    if outside <= TRUE_MM + 1e-9:
        return EASE if most - least > 0 and abs(difference) > TRUE_MM else TRUE
    if outside <= NOTICE_MM + 1e-9:
        return NOTICE
    return WARN if outside <= WARN_MM + 1e-9 else FAULT


def side_length(garment: Garment, side: Sequence[EdgeRef]) -> float:
    """Sewn length in mm of one side of a seam."""
    return sum(garment.edge(ref).length for ref in side)


def notch_along(garment: Garment, side: Sequence[EdgeRef], piece_id: str, notch_id: str) -> float:
    """Distance in mm of a notch along one side of a seam, from the end where the seam starts."""
    before = 0.0
    for ref in side:
        edge = garment.edge(ref)
        if ref.piece == piece_id:
            for notch in garment.piece(piece_id).notches:
                if notch.id == notch_id and notch.place.edge == ref.edge:
                    along = length_at(edge, notch.place)
                    return before + (edge.length - along if ref.backwards else along)
        before += edge.length
    return before


def walk_seam(garment: Garment, seam: Seam, stage: str) -> SeamWalk:
    """One seam walked, whole and stretch by stretch between its notches."""
    first, second = side_length(garment, seam.first), side_length(garment, seam.second)
    notches = tuple(_notch(garment, seam, match) for match in seam.matches)
    stretches = _walk_stretches(seam, notches, first, second)
    least, most = _range(seam, first)
    if seam.accepted_mm is not None:
        least, most = min(least, seam.accepted_mm), max(most, seam.accepted_mm)
    worst = verdict(second - first, least, most)
    if seam.accepted_mm is None:
        worst = max([worst, *(s.verdict for s in stretches)], key=lambda v: _RANK[v])
    return SeamWalk(
        seam.id, seam.name, stage, seam.first, seam.second, first, second, (least, most), worst, notches, stretches
    )


def walk(garment: Garment, stage: str) -> tuple[SeamWalk, ...]:
    """All seams walked in the order in which they are sewn; ``stage`` is "before" or "after"."""
    return tuple(walk_seam(garment, seam, stage) for seam in sorted(garment.seams, key=lambda s: (s.sewn, s.id)))


def since(followed: Followed, before: SeamWalk, after: SeamWalk) -> str:
    """ "traced", or the id of the note that put this seam out: the one that moved it furthest out of its range."""
    out_before = outside_range(before.difference_mm, *before.ease)
    out_after = outside_range(after.difference_mm, *after.ease)
    if _RANK[after.verdict] <= _RANK[before.verdict] and abs(out_after) - abs(out_before) <= TRUE_MM:
        return "traced"
    seam = next(s for s in followed.traced.seams if s.id == after.seam)
    moved: dict[str, float] = {}
    for step in followed.steps:
        if step.done:
            states = (step.before, step.after)
            was, now = (side_length(g, seam.second) - side_length(g, seam.first) for g in states)
            moved[step.note.id] = (now - was) * (1 if out_after >= 0 else -1)
    return max(moved, key=lambda note: moved[note]) if moved else "traced"


def seam_finding(garment: Garment, walked: SeamWalk, since_note: str, note_words: str) -> Finding | None:
    """The finding for a seam that does not walk, None where it does."""
    level = _LEVELS.get(walked.verdict)
    if level is None:
        return None
    first, second = (_sides(garment, side) for side in (walked.first, walked.second))
    difference = walked.difference_mm
    least, most = walked.ease
    longer, shorter = (second, first) if difference > 0 else (first, second)
    if not walked.whole_is_true:
        out = outside_range(difference, least, most)
        are = "are" if (walked.second if difference > 0 else walked.first)[1:] else "is"
        says = (
            f"{walked.name}: {longer} {are} {mm_words(abs(difference))} longer than {shorter}{_allowed(least, most)}, "
            f"{note_words}. Take {mm_words(abs(out))} off {longer if out * difference > 0 else shorter} or share it."
        )
    else:
        says = f"{walked.name}: {_stretch_words(garment, walked)}, {note_words}. Move the notch on one side."
    edge = garment.edge(walked.second[0])
    note = None if since_note == "traced" else since_note
    return Finding(
        f"seam-{walked.verdict}", level, says, walked.second[0].piece, note, edge.chain.point(len(edge.chain) / 2),
        f"seam:{walked.seam}",
    )


def _stretch_words(garment: Garment, walked: SeamWalk) -> str:
    """The stretch that is furthest out, between which notches, and which side of it is longer than it should be."""
    at = max(range(len(walked.stretches)), key=lambda i: abs(walked.stretches[i].outside_mm))
    stretch = walked.stretches[at]
    ordered = sorted(walked.notches, key=lambda n: n.first_at)
    names = [notch.name for notch in ordered]
    between = (
        f"between {names[at - 1]} and {names[at]}" if 0 < at < len(names)
        else f"before the {names[0]}" if at == 0 else f"after the {names[-1]}"
    )
    longer = _sides(garment, walked.second if stretch.outside_mm > 0 else walked.first)
    return f"{between}, {longer} {'are' if ' and ' in longer else 'is'} {mm_words(abs(stretch.outside_mm))} too long"


def _allowed(least: float, most: float) -> str:
    """What the second side may differ by, in words; nothing where the two should be even."""
    if most - least < 0.1:
        even = abs(most) < 0.1
        return "" if even else f" (it should be {mm_words(abs(most))} {'longer' if most > 0 else 'shorter'})"
    return f" (allowed {mm_words(least)} to {mm_words(most)})"


def _sides(garment: Garment, side: Sequence[EdgeRef]) -> str:
    return " and ".join(f"“{garment.edge(ref).name}” of “{garment.piece(ref.piece).name}”" for ref in side)


def _notch(garment: Garment, seam: Seam, match: Match) -> SeamNotch:
    return SeamNotch(
        match.name,
        notch_along(garment, seam.first, match.first_piece, match.first),
        notch_along(garment, seam.second, match.second_piece, match.second),
    )


def _range(seam: Seam, first_mm: float) -> tuple[float, float]:
    least = sum(_stretch_range(s, first_mm / len(seam.stretches))[0] for s in seam.stretches)
    most = sum(_stretch_range(s, first_mm / len(seam.stretches))[1] for s in seam.stretches)
    return least, most


def _stretch_range(stretch: Stretch, first_mm: float) -> tuple[float, float]:
    """Allowed range in mm; stretched on, the range stands about the length its ratio asks for."""
    if stretch.kind is StretchKind.STRETCHED and stretch.ratio is not None:
        wanted = (stretch.ratio - 1) * first_mm
        return wanted + stretch.least, wanted + stretch.most
    return stretch.least, stretch.most


def _walk_stretches(seam: Seam, notches: Sequence[SeamNotch], first: float, second: float) -> tuple[StretchWalk, ...]:
    every = seam.stretches
    if len(every) == 1 and every[0].kind is StretchKind.EVEN and notches:
        every = every * (len(notches) + 1)
    if len(every) == 1:
        (only,) = every
        least, most = _stretch_range(only, first)
        return (StretchWalk(only.kind, first, second, least, most, verdict(second - first, least, most)),)
    ordered = sorted(notches, key=lambda n: n.first_at)
    stops = [(0.0, 0.0), *((n.first_at, n.second_at) for n in ordered), (first, second)]
    walked = []
    for stretch, ((a0, b0), (a1, b1)) in zip(every, pairwise(stops), strict=True):
        least, most = _stretch_range(stretch, a1 - a0)
        found = verdict((b1 - b0) - (a1 - a0), least, most)
        walked.append(StretchWalk(stretch.kind, a1 - a0, b1 - b0, least, most, found))
    return tuple(walked)

"""What walking the seams found, in words a class would use. No Qt."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from geometry.corners import CornerWalk
from geometry.every_seam import Trued
from geometry.findings import Finding, Level
from geometry.getting_in import assumed_words, passage_words, ring_name
from geometry.matters import MM
from geometry.pipeline import Draft
from geometry.readings import mm_words
from geometry.remedies import Proposal
from geometry.stages import SeamWalk
from geometry.units import System, in_system, say_length, tape_words

_NOTCHES_MEET_MM = 1.0
#: A difference this near to the accepted one is that one (mm).
_AS_ACCEPTED_MM = 0.8
#: Findings that stand at a seam, a corner or a ring already.
_SHOWN_CODES = ("seam-", "corner", "too-tight")
#: What can be said of a corner, and in which words (the keys are those of the command line).
POINTS, RUNS_ON = "points", "runs-on"
CORNER_WORDS = {POINTS: "it is meant to point", RUNS_ON: "it is to run on"}
STUCK = "No note was found that puts this right without putting something else out."
#: The same of what is not walked, by the first word of what it is about.
_STUCK_OTHERS = {
    "ring": "No note makes it wide enough without spoiling the fit; give it an opening, behind “Traced in”.",
    "allowance": "No allowance of 3 mm or more lies flat here; cut it as it is drawn, and clip it once it is sewn.",
    "widths": "Neither width lies flat on both; match the stitching lines when it is pinned.",
}
#: How what is not walked was out, and how it is now.
_OUT_AND_NOW = {
    "ring": ("It was {} too tight", "lets it through now"),
    "allowance": ("It was {} wider than it bears", "lies flat now"),
    "widths": ("They were {} apart", "are cut alike now"),
}
_MOST_SAID = 3
_SIGNS = {"true": "✓", "ease": "✓", "notice": "~", "warn": "!", "fault": "!"}


@dataclass(frozen=True)
class Verdict:
    """One line of the panel: a ``sign``, what it is about, what is so, whether it is ``wrong``, and what puts it right.

    ``about`` names what is open; ``remedy`` says what puts it right, "" until that is known; ``stuck`` where nothing
    does, and what is to be done then. ``accept`` names the seam whose traced difference may be accepted as it is,
    ``corner`` the corner of which ``sayings`` may be said.
    """

    sign: str
    title: str
    says: str
    wrong: bool
    piece: str | None = None
    about: str = ""
    remedy: str = ""
    stuck: str = ""
    accept: str | None = None
    corner: str = ""
    sayings: tuple[str, ...] = ()


Known = Mapping[str, Proposal | None]
_NOTHING_KNOWN: Known = MappingProxyType({})


def verdicts(
    draft: Draft, system: System, opened_with: Sequence[Finding] = (), known: Known = _NOTHING_KNOWN
) -> tuple[Verdict, ...]:
    """What is wrong first; else seams in the order of sewing, corners, and whatever else was found.

    ``known`` holds what puts something right, by what it is about, None where nothing does.
    """
    found = (
        *(_other(draft, finding, system, known) for finding in opened_with),
        *(_seam(draft, walk, system, known) for walk in draft.after),
        *_corners(draft, system, known),
        *_rings(draft, system, known),
        *_others(draft, system, known),
    )
    return tuple(sorted(found, key=lambda verdict: not verdict.wrong))


def summary(found: tuple[Verdict, ...]) -> str:
    """How things stand in one line."""
    wrong = [verdict for verdict in found if verdict.wrong]
    if not wrong:
        return "✓ everything still sews" if found else "nothing is sewn to anything yet"
    first = f"! {wrong[0].title}: {wrong[0].says}"
    return first if len(wrong) == 1 else f"{first}  (and {len(wrong) - 1} more)"


def _seam(draft: Draft, walk: SeamWalk, system: System, known: Known) -> Verdict:
    wrong = walk.verdict in ("notice", "warn", "fault")
    lengths = _lengths(walk, system)
    if wrong:
        said = [in_system(f.says, system) for f in walk.findings] or [lengths]
        says = "\n".join(text.removeprefix(f"{walk.name}: ") for text in said)
    else:
        accepted = next(seam.accepted_mm for seam in draft.garment.seams if seam.id == walk.seam)
        as_traced = accepted is not None and abs(walk.difference_mm - accepted) <= _AS_ACCEPTED_MM
        eased = ["accepted as traced"] if as_traced else [*_ease(walk, system)]
        says = ", ".join([lengths, *eased, *_notches(draft, walk)])
    traced = walk.since == "traced" and wrong
    row = Verdict(_SIGNS[walk.verdict], _capital(walk.name), says, wrong, walk.second[0].piece)
    row = replace(row, accept=walk.seam if traced else None)
    return _with_remedy(row, f"seam:{walk.seam}", known, system) if wrong else row


def _lengths(walk: SeamWalk, system: System) -> str:
    first, second = _on_the_tape(walk.first_mm, system), _on_the_tape(walk.second_mm, system)
    return f"{first} / {second} {system}"


def _on_the_tape(mm: float, system: System) -> str:
    """A length to the nearest millimetre or sixteenth, without its unit."""
    if system == "in":
        return say_length(round(mm / 25.4 * 16) * 25.4 / 16, "in").removesuffix(" in")
    return f"{mm / 10:.1f}"


def _short(mm: float, system: System) -> str:
    """A length to the millimetre, as it is read off a tape held along a seam."""
    return f"{_on_the_tape(mm, system)} in" if system == "in" else tape_words(round(mm), "cm")


def _ease(walk: SeamWalk, system: System) -> Iterator[str]:
    least, most = walk.ease
    if walk.verdict != "ease" and (least, most) == (0.0, 0.0):
        return
    difference = walk.difference_mm
    if difference < 0:
        yield f"{_short(-difference, system)} stretched on"
    elif walk.verdict == "ease" or difference > 0.05:
        yield f"{_short(difference, system)} eased in"


def _notches(draft: Draft, walk: SeamWalk) -> Iterator[str]:
    if not walk.notches:
        return
    as_one = any(seam.id == walk.seam and len(seam.stretches) == 1 for seam in draft.garment.seams)
    worst = max(abs(notch.second_at - notch.first_at) for notch in walk.notches)
    if as_one and worst <= _NOTCHES_MEET_MM:
        yield "notches meet"
    elif all(stretch.verdict in ("true", "ease") for stretch in walk.stretches) and len(walk.stretches) > 1:
        yield "even between the notches"


def _corners(draft: Draft, system: System, known: Known) -> Iterator[Verdict]:
    """Those that are open or are taken to point, each in a row; how many run on in one."""
    doubtful: Mapping[str | None, Finding] = {f.about: f for f in draft.findings if f.code == "corner"}
    traced = {corner.id: corner for corner in draft.corners_before}
    smooth: list[CornerWalk] = []
    for corner in draft.corners:
        finding = doubtful.get(corner.key)
        if finding is not None:
            says = _capital(in_system(finding.says.removeprefix(f"{corner.name}: "), system))
            wrong = finding.level is not Level.NOTICE
            row = Verdict("!" if wrong else "~", _capital(corner.name), says, wrong, corner.piece, corner=corner.id)
            yield replace(_with_remedy(row, corner.key, known, system), sayings=(POINTS,))
        elif corner.runs_on:
            smooth.append(corner)
        else:
            yield _pointing(corner, traced.get(corner.id, corner))
    at_seams = [corner for corner in smooth if corner.wanted == 180]
    at_folds = [corner for corner in smooth if corner.wanted != 180]
    if at_seams:
        says = _corner_words(at_seams, "runs on smoothly", "run on smoothly")
        yield Verdict("✓", "Corners at the seams", says, False)
    if at_folds:
        yield Verdict("✓", "Corners at the fold", _corner_words(at_folds, "is square", "are square"), False)


def _pointing(corner: CornerWalk, traced: CornerWalk) -> Verdict:
    """A corner that is left alone: she said that it points, or it is so far off in the tracing that it seems to."""
    fair = "one that runs on makes 180" if corner.wanted == 180 else "a square one makes 90"
    turns = f"It makes {corner.degrees:.0f} degrees where {fair}"
    if corner.meant_to_point:
        row = Verdict("✓", _capital(corner.name), f"{turns}, and is meant to point.", False, corner.piece)
        return replace(row, corner=corner.id, sayings=(RUNS_ON,))
    left = f"{abs(traced.off):.0f} off in the tracing. It is left as it is until you say what it is meant to be."
    row = Verdict("~", _capital(corner.name), f"{turns}, {left}", False, corner.piece)
    return replace(row, corner=corner.id, sayings=(POINTS, RUNS_ON))


def _with_remedy(row: Verdict, about: str | None, known: Known, system: System) -> Verdict:
    """The row with what puts it right, as far as it is known."""
    if about is None or about not in known:
        return replace(row, about=about or "")
    found = known[about]
    if found is None:
        return replace(row, about=about, stuck=stuck_words(about))
    return replace(row, about=about, remedy=in_system(_small(found.says), system))


def _corner_words(corners: list[CornerWalk], one: str, many: str) -> str:
    return f"{len(corners)} {many if len(corners) > 1 else one}"


def is_walked(about: str) -> bool:
    """Whether something that is open is a seam, a corner or a dart, which truing every seam puts right."""
    return bool(about) and _kind(about) not in _STUCK_OTHERS


def stuck_words(about: str) -> str:
    """What is to be done where no note helps."""
    return _STUCK_OTHERS.get(_kind(about), STUCK)


def put_right_words(title: str, about: str, found: Proposal | None) -> str:
    """What was done about one row, lengths in mm; None where nothing helps."""
    if found is None:
        return f"{title}: {stuck_words(about)}"
    out, true = _OUT_AND_NOW.get(_kind(about), ("It was {} out", "is true now"))
    was = out.format(_out(found.before, found.unit))
    now = f"and {true}" if found.after == 0 else f"and {_out(found.after, found.unit)} is still open"
    return f"{title} put right: {_small(found.says)}. {was} {now}."


def _kind(about: str) -> str:
    return about.partition(":")[0]


def trued_words(found: Trued) -> str:
    """What truing every seam did, lengths in mm."""
    if not found.taken and not found.left:
        return "Nothing is open; every seam is true."
    said = []
    if found.taken:
        shown = "; ".join(_small(one.says) for one in found.taken[:_MOST_SAID])
        more = f"; and {len(found.taken) - _MOST_SAID} more" if len(found.taken) > _MOST_SAID else ""
        notes = "1 note was" if len(found.notes) == 1 else f"{len(found.notes)} notes were"
        said.append(f"{notes} written that put right what was open: {shown}{more}.")
    said += [f"Left open: {one.name}, {one.out} out; {one.why}." for one in found.left[:_MOST_SAID]]
    return " ".join(said)


def _out(size: float, unit: str) -> str:
    return mm_words(size) if unit == MM else f"{size:.1f} degrees"


def _rings(draft: Draft, system: System, known: Known) -> Iterator[Verdict]:
    """Whether head, hip and hand get through."""
    for ring in draft.passages:
        name = ring_name(draft.garment, ring)
        words = passage_words(draft.garment, ring)
        if ring.assumed:
            words += f". {assumed_words(ring)}"
        if not ring.passes:
            tight = [f.says for f in draft.findings if (f.code, f.piece) == ("too-tight", ring.piece)]
            words = next(says for says in tight if says.startswith(f"The {name} "))
        words = words.removesuffix(".") + "."
        says = _capital(in_system(words.removeprefix("The ").removeprefix("the ").removeprefix(f"{name} "), system))
        row = Verdict("✓" if ring.passes else "!", _capital(name), says, not ring.passes, ring.piece)
        yield row if ring.passes else _with_remedy(row, ring.key, known, system)


def _others(draft: Draft, system: System, known: Known) -> Iterator[Verdict]:
    """Findings that neither a seam, a corner, a ring nor a note's card shows."""
    on_cards = {id(finding) for step in draft.followed.steps for finding in step.findings}
    for finding in draft.findings:
        if not finding.code.startswith(_SHOWN_CODES) and id(finding) not in on_cards:
            yield _other(draft, finding, system, known)


def _other(draft: Draft, finding: Finding, system: System, known: Known) -> Verdict:
    wrong = finding.level is not Level.NOTICE
    title = next((piece.name for piece in draft.garment.pieces if piece.id == finding.piece), draft.garment.name)
    row = Verdict("!" if wrong else "~", _capital(title), in_system(finding.says, system), wrong, finding.piece)
    return _with_remedy(row, finding.about or finding.cure, known, system)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]

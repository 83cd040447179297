"""What walking the seams found, in words a class would use. No Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from geometry.corners import CornerWalk
from geometry.findings import Finding, Level
from geometry.getting_in import assumed_words, passage_words, ring_name
from geometry.pipeline import Draft
from geometry.stages import Offer, SeamWalk
from geometry.units import System, in_system, say_length, tape_words

_NOTCHES_MEET_MM = 1.0
#: A difference this near to the accepted one is that one (mm).
_AS_ACCEPTED_MM = 0.8
#: Findings that stand at a seam, a corner or a ring already.
_SHOWN_CODES = ("seam-", "corner", "too-tight")
_SIGNS = {"true": "✓", "ease": "✓", "notice": "~", "warn": "!", "fault": "!"}


@dataclass(frozen=True)
class Verdict:
    """One line of the panel: a ``sign``, what it is about, what is so, whether it is ``wrong``, and what puts it right.

    ``accept`` names the seam whose traced difference may be accepted as it is.
    """

    sign: str
    title: str
    says: str
    wrong: bool
    piece: str | None = None
    offer: Offer | None = None
    accept: str | None = None


Remedy = Callable[[Offer, str], bool]


def verdicts(
    draft: Draft, system: System, opened_with: Sequence[Finding] = (), puts_right: Remedy | None = None
) -> tuple[Verdict, ...]:
    """What is wrong first; else seams in the order of sewing, corners, and whatever else was found.

    ``puts_right`` says whether an offer makes a seam (by id) walk again; only then is it a remedy.
    """
    found = (
        *(_other(draft, finding, system) for finding in opened_with),
        *(_seam(draft, walk, system, puts_right) for walk in draft.after),
        *_corners(draft, system),
        *_rings(draft, system),
        *_others(draft, system),
    )
    return tuple(sorted(found, key=lambda verdict: not verdict.wrong))


def summary(found: tuple[Verdict, ...]) -> str:
    """How things stand in one line."""
    wrong = [verdict for verdict in found if verdict.wrong]
    if not wrong:
        return "✓ everything still sews" if found else "nothing is sewn to anything yet"
    first = f"! {wrong[0].title}: {wrong[0].says}"
    return first if len(wrong) == 1 else f"{first}  (and {len(wrong) - 1} more)"


def _seam(draft: Draft, walk: SeamWalk, system: System, puts_right: Remedy | None) -> Verdict:
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
    piece = walk.second[0].piece
    offer = _remedy(draft, walk, puts_right) if wrong and not traced and puts_right is not None else None
    return Verdict(
        _SIGNS[walk.verdict], _capital(walk.name), says, wrong, piece, offer, walk.seam if traced else None
    )


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


def _remedy(draft: Draft, walk: SeamWalk, puts_right: Remedy) -> Offer | None:
    """What the note that put a seam out offers, done to a piece of that seam, if that puts it right."""
    pieces = {ref.piece for ref in (*walk.first, *walk.second)}
    for step in draft.followed.steps:
        if step.note.id == walk.since:
            for offer in step.offers:
                if pieces & {target.piece for target in offer.targets} and puts_right(offer, walk.seam):
                    return offer
    return None


def _corners(draft: Draft, system: System) -> Iterator[Verdict]:
    doubtful: Mapping[str, Finding] = {
        f.says.split(": ")[0]: f for f in draft.findings if f.code == "corner"
    }
    smooth: list[CornerWalk] = []
    for corner in draft.corners:
        finding = doubtful.get(corner.name)
        if finding is not None:
            says = in_system(finding.says.removeprefix(f"{corner.name}: "), system)
            wrong = finding.level is not Level.NOTICE
            yield Verdict("!" if wrong else "~", _capital(corner.name), _capital(says), wrong, corner.piece)
        else:
            smooth.append(corner)
    at_seams = [corner for corner in smooth if corner.wanted == 180]
    at_folds = [corner for corner in smooth if corner.wanted != 180]
    if at_seams:
        says = _corner_words(at_seams, "runs on smoothly", "run on smoothly")
        yield Verdict("✓", "Corners at the seams", says, False)
    if at_folds:
        yield Verdict("✓", "Corners at the fold", _corner_words(at_folds, "is square", "are square"), False)


def _corner_words(corners: list[CornerWalk], one: str, many: str) -> str:
    fine = [corner for corner in corners if corner.runs_on]
    pointed = len(corners) - len(fine)
    said = []
    if fine:
        said.append(f"{len(fine)} {many if len(fine) > 1 else one}")
    if pointed:
        said.append(f"{pointed} meant to point")
    return ", ".join(said)


def _rings(draft: Draft, system: System) -> Iterator[Verdict]:
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
        yield Verdict("✓" if ring.passes else "!", _capital(name), says, not ring.passes, ring.piece)


def _others(draft: Draft, system: System) -> Iterator[Verdict]:
    """Findings that neither a seam, a corner, a ring nor a note's card shows."""
    on_cards = {id(finding) for step in draft.followed.steps for finding in step.findings}
    for finding in draft.findings:
        if not finding.code.startswith(_SHOWN_CODES) and id(finding) not in on_cards:
            yield _other(draft, finding, system)


def _other(draft: Draft, finding: Finding, system: System) -> Verdict:
    wrong = finding.level is not Level.NOTICE
    title = next((piece.name for piece in draft.garment.pieces if piece.id == finding.piece), draft.garment.name)
    return Verdict("!" if wrong else "~", _capital(title), in_system(finding.says, system), wrong, finding.piece)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]

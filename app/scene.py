"""What the table shows of a draft for one piece and one chosen note: values only, no pixels and no drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.carrying_back import carried_back
from app.changed_lengths import ChangedLength, changed_lengths
from app.handles import Handle, LineEnd, handles_of, handles_past_limit, line_ends
from geometry.alterations import find
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.motions import FloatArray, Point
from geometry.nests import other_sizes, size_names
from geometry.pieces import Piece
from geometry.pipeline import Draft
from geometry.stages import CutPiece, JogBlend, Step

#: Chosen in place of a note: the piece as it was traced, without any note.
TRACED = "traced"


@dataclass(frozen=True, eq=False)
class ShownStrip:
    """A strip as it lies on the piece on the left; ``amount`` in mm where the note has one main amount."""

    note: str
    outline: FloatArray
    added: bool
    chosen: bool
    amount: float | None


@dataclass(frozen=True)
class Doubt:
    """A finding with its place; ``redrawn`` says on which of the two pieces it lies, ``wrong`` that it is no notice."""

    place: Point
    says: str
    redrawn: bool
    wrong: bool


@dataclass(frozen=True, eq=False)
class SizeLine:
    """The piece as traced in another size; ``rank`` is the size's place in the nest, from 0."""

    name: str
    piece: Piece
    rank: int


@dataclass(frozen=True, eq=False)
class Scene:
    """The piece on the left (``before``) and on the right (``after``) with all that is shown on them.

    ``sizes`` are lines of the other sizes round the piece as traced; it is worked in ``size`` of ``size_names``.
    """

    traced: Piece
    before: CutPiece
    after: CutPiece
    before_title: str
    after_title: str
    strips: tuple[ShownStrip, ...]
    handles: tuple[Handle, ...]
    ends: tuple[LineEnd, ...]
    blends: tuple[JogBlend, ...]
    changed: tuple[ChangedLength, ...]
    doubts: tuple[Doubt, ...]
    sizes: tuple[SizeLine, ...] = ()
    size: str = ""
    size_names: tuple[str, ...] = ()

    @property
    def from_traced(self) -> bool:
        """True when the piece on the left is the piece as traced."""
        return self.before.piece is self.traced


def scene_of(
    draft: Draft, piece_id: str, shown_note: str | None, held: str | None = None, last_done: Step | None = None
) -> Scene:
    """The scene for a piece; ``shown_note`` is a note's id, TRACED, or None for all notes at once.

    While the field ``held`` is being dragged, its handle is the only one. A note that is not done keeps the handles
    it had when it was ``last_done``.
    Raises PatternError when there is no such piece. A note that is no longer there counts as None.
    """
    traced = draft.garment.piece(piece_id)
    steps = draft.followed.steps
    index = next((i for i, step in enumerate(steps) if step.note.id == shown_note), None)
    before, title = draft.cut_before[piece_id], "as traced"
    if index is not None:
        piece = steps[index].before.piece(piece_id)
        if piece is not traced:
            before, title = CutPiece(piece, None, {}), f"as note {index + 1} finds it"
    return Scene(
        traced,
        before,
        draft.cut[piece_id],
        title,
        "redrawn",
        _strips(steps, piece_id, shown_note, index),
        _handles(steps[index], piece_id, held, last_done) if index is not None else (),
        line_ends(steps[index], piece_id) if index is not None else (),
        draft.blended.pieces[piece_id].blends,
        changed_lengths(traced, draft.redrawn.piece(piece_id)),
        tuple(_doubts(draft, piece_id, index)),
        _sizes(draft, piece_id) if before is draft.cut_before[piece_id] else (),
        draft.garment.size,
        size_names(draft.garment),
    )


def _sizes(draft: Draft, piece_id: str) -> tuple[SizeLine, ...]:
    names = size_names(draft.garment)
    return tuple(SizeLine(name, piece, names.index(name)) for name, piece in other_sizes(draft.garment, piece_id))


def _handles(step: Step, piece_id: str, held: str | None, last_done: Step | None) -> tuple[Handle, ...]:
    if step.done or not step.note.on or last_done is None:
        return handles_of(step, piece_id, held)
    return handles_past_limit(step, last_done, piece_id, held)


def step_of_note(draft: Draft, note_id: str | None) -> Step | None:
    """What became of a note, None when there is no such note."""
    return next((step for step in draft.followed.steps if step.note.id == note_id), None)


def _strips(steps: Sequence[Step], piece_id: str, shown: str | None, index: int | None) -> tuple[ShownStrip, ...]:
    if shown == TRACED:
        return ()
    wanted = range(len(steps)) if index is None else (index,)
    found = []
    for number in wanted:
        step = steps[number]
        for strip in step.strips:
            if strip.piece == piece_id and len(strip.outline) >= 3:
                earlier = steps[:number] if index is None else ()
                outline = carried_back(strip.outline, earlier, piece_id)
                amount = _main_amount(step, piece_id) if strip.wide is None else strip.wide
                found.append(ShownStrip(step.note.id, outline, strip.added, index is not None, amount))
    return tuple(found)


def _main_amount(step: Step, piece_id: str) -> float | None:
    own = next((target.amount for target in step.note.targets if target.piece == piece_id), None)
    if own is not None:
        return own
    try:
        main = find(step.note.alteration).main
    except PatternError:
        return None
    return float(getattr(step.note.amounts, main)) if main is not None else None


def _doubts(draft: Draft, piece_id: str, index: int | None) -> list[Doubt]:
    """Doubts of the chosen note stand on the piece it read; all that no note names stand on the piece redrawn."""
    steps = draft.followed.steps
    noted: list[Finding] = [finding for step in steps for finding in step.findings]
    mine = list(steps[index].findings) if index is not None else []
    later = [finding for finding in draft.findings if not any(finding is other for other in noted)]
    return [
        Doubt(finding.place, finding.says, redrawn, finding.level is not Level.NOTICE)
        for findings, redrawn in ((mine, False), (later, True))
        for finding in findings
        if finding.piece == piece_id and finding.place is not None
    ]

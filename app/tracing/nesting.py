"""The other sizes of a file, built as the picked size was answered, and the nest of sizes that comes of them.

A size in which a piece is missing or has other edges is left out, and it is said why; the rest come in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from app.tracing.building import Drawn, Settled, build, draw, drawn_allowances
from app.tracing.corners_by_hand import with_the_same
from app.tracing.joining import join
from app.tracing.matching import NEARBY, aligned, found_again, lies_over
from app.tracing.orienting import moved_raw, turning
from app.tracing.pieces_found import RawPiece, is_exchange, sort_out
from app.tracing.placing import moved, placed
from app.tracing.questions import Answers
from app.tracing.shared_marks import Lacks, as_in
from app.tracing.sizes import InSize
from app.tracing.two_parts import joined_parts
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import DEFAULT_WIDTHS, Garment
from geometry.motions import slide
from geometry.pieces import Piece
from geometry.setting_in import set_in

#: Names of marks by the piece that they are on, with the sizes that differ in them.
_Marks = dict[tuple[str, tuple[str, ...]], list[str]]
#: Allowances drawn in two sizes are one width when they are this close (mm).
_SAME_WIDTH_MM = 0.25
#: By how much a corner turns at least (degrees) where another size has more or fewer corners than the picked one.
_OTHER_CORNERS_DEG = (10.0, 8.0, 6.0, 14.0, 17.0, 20.0)


@dataclass(frozen=True, eq=False)
class Part:
    """A piece of the picked size before its parts are joined: as it lies in the file, turned by so many degrees, as
    drawn and with the corners that were set by hand."""

    raw: RawPiece
    turned: float
    drawn: Drawn
    cornered: Drawn


@dataclass(frozen=True, eq=False)
class Answered:
    """A piece of the picked size with its answers, as it came in."""

    drawn: Drawn
    settled: Settled
    piece: Piece


@dataclass(frozen=True)
class Measures:
    """What lines are read by in every size: the widest gap, the noise of points, what strays from a straight (mm)."""

    gap: float
    noise: float
    straight: float


class _Differs(Exception):
    """Why a size is left out."""


def in_other_sizes(
    picked: str,
    every: Sequence[InSize],
    parts: Sequence[Part],
    answered: Sequence[Answered],
    measures: Measures,
    answers: Answers,
) -> tuple[dict[str, tuple[Piece, ...]], tuple[Finding, ...]]:
    """The pieces in every size that shares them, by its name in the order of the file, and what is to be said of it.

    Nothing where there is one size.
    """
    if len(every) < 2:
        return {}, ()
    found: dict[str, tuple[Piece, ...]] = {}
    said: list[Finding] = []
    lacking: _Marks = {}
    besides: _Marks = {}
    by_lines: dict[bool, list[str]] = {}
    for one in every:
        if one.size == picked:
            found[one.size] = tuple(each.piece for each in answered)
            continue
        try:
            made, more, lines = _in_size(picked, one, parts, answered, measures, answers)
        except _Differs as differs:
            said.append(Finding("size-left-out", Level.WARN, f"Size {one.size} was left out: {differs}."))
            continue
        said += more
        found[one.size] = tuple(piece for piece, _ in made)
        if lines is not None:
            by_lines.setdefault(lines, []).append(one.size)
        for piece, marks in made:
            lacking.setdefault((piece.id, marks.lacks), []).append(one.size)
            besides.setdefault((piece.id, marks.besides), []).append(one.size)
    names = {each.piece.id: each.piece.name for each in answered}
    said += _of_lines(picked, by_lines)
    said += _of_marks(names, picked, lacking, besides)
    if len(found) < 2:
        return {}, tuple(said)
    says = f"{len(found)} sizes come in as a nest: {', '.join(found)}; notes are worked on size {picked}."
    return found, (Finding("sizes-nested", Level.NOTICE, says), *said)


def _in_size(
    picked: str,
    one: InSize,
    parts: Sequence[Part],
    answered: Sequence[Answered],
    measures: Measures,
    answers: Answers,
) -> tuple[list[tuple[Piece, Lacks]], list[Finding], bool | None]:
    """The pieces in another size, each with what it lacks; and, where only one of the two sizes shows a stitching line,
    whether that is the picked one. Raises _Differs."""
    exchange = is_exchange(one.found)
    joined = one.joined or join(one.found.lines, measures.gap, apart=exchange)
    pieces = sort_out(one.found, joined).pieces
    again = found_again([part.raw for part in parts], picked, pieces, one.size)
    wanted = _wanted(parts, answered, answers)
    drawn, over, lines = [], {}, None
    for part, raw in zip(parts, again, strict=True):
        if part.drawn.id not in wanted:
            continue
        if raw is None:
            raise _Differs(f"it has no “{part.drawn.raw.name}”")
        turned = moved_raw(raw, turning(part.raw, part.turned)) if part.turned else raw
        if (part.raw.stitching is None) != (raw.stitching is None):
            lines = part.raw.stitching is not None
            part, turned = _by_cutting_line(part), replace(turned, stitching=None)
        drawn.append(_cornered(part, turned, measures, exchange, picked))
        over[part.drawn.id] = lies_over(part.raw, raw)
    try:
        drawn = joined_parts(drawn, answers, measures.noise, exchange)
        built = [
            _built(each, next(made for made in drawn if made.id == each.drawn.id), picked, one.size, over)
            for each in answered
        ]
    except PatternError as error:
        raise _Differs(_within(error.says)) from error
    more = [raw for raw in pieces if not any(raw is other for other in again)]
    listed = _listed([f"“{raw.name}”" for raw in more])
    says = f"Size {one.size} also has {listed}, which size {picked} has not; left out."
    return built, [Finding("piece-of-one-size", Level.WARN, says)] if more else [], lines


def _by_cutting_line(part: Part) -> Part:
    """A piece whose corners are to be found again on a cutting line alone."""
    drawn, cornered = (_without_stitching(one) for one in (part.drawn, part.cornered))
    return replace(part, drawn=drawn, cornered=cornered)


def _without_stitching(drawn: Drawn) -> Drawn:
    return replace(drawn, raw=replace(drawn.raw, stitching=None))


def _wanted(parts: Sequence[Part], answered: Sequence[Answered], answers: Answers) -> set[str]:
    """The ids of the pieces that come in, and of all where parts are joined to them."""
    everything = {part.drawn.id for part in parts}
    return everything if answers.get("join", "").strip() else {each.drawn.id for each in answered} & everything


def _drawn_alike(picked: Drawn, raw: RawPiece, measures: Measures, exchange: bool, size: str) -> Drawn:
    """A piece of another size with the corners of the picked one. Raises _Differs where it has others.

    A corner that turns a little more than the least in one size may turn a little less in another.
    """
    first = draw(picked.id, raw, measures.noise, exchange, measures.straight)
    if aligned(picked, first)[0] is None:
        for degrees in _OTHER_CORNERS_DEG:
            other = draw(picked.id, raw, measures.noise, exchange, measures.straight, degrees)
            found, _ = aligned(picked, other, NEARBY)
            if found is not None:
                return found
    return _aligned(picked, first, size)


def _aligned(picked: Drawn, other: Drawn, size: str) -> Drawn:
    found, differs = aligned(picked, other)
    if found is None:
        raise _Differs(f"its “{picked.raw.name}” is not drawn as in size {size}; {differs}")
    return found


def _cornered(part: Part, raw: RawPiece, measures: Measures, exchange: bool, size: str) -> Drawn:
    """A piece of another size with the corners of the picked one and those that were set on it by hand, unless they
    are found in it anyway. Raises _Differs."""
    corners = part.cornered.corners
    with suppress(_Differs):
        if corners:
            return _drawn_alike(part.cornered, raw, measures, exchange, size)
    other = _drawn_alike(part.drawn, raw, measures, exchange, size)
    try:
        return with_the_same(part.drawn, corners, other)
    except PatternError as error:
        raise _Differs(_within(error.says)) from error


def _built(each: Answered, other: Drawn, picked: str, size: str, over: Mapping[str, bool]) -> tuple[Piece, Lacks]:
    alone = each.drawn.raw.stitching is not None and other.raw.stitching is None
    drawn = _aligned(_without_stitching(each.drawn) if alone else each.drawn, other, picked)
    settled = replace(each.settled, size=size, on_cutting_line=alone or each.settled.on_cutting_line)
    widths = drawn_allowances(drawn)
    for i, width in settled.widths.items() if widths else ():
        if abs(widths.get(i, width) - width) > _SAME_WIDTH_MM:
            name = settled.names[i]
            raise _Differs(
                f"its “{settled.name}” has an allowance of {widths[i]:g} mm at the {name}, not {width:g} mm as in "
                f"size {picked}"
            )
    line = build(drawn, settled)
    beside = not over.get(drawn.id, True)
    frame = line if beside else build(each.drawn, each.settled)
    piece = placed(line, frame, wrong_side_up=settled.wrong_side_up)
    if settled.on_cutting_line:
        piece, _ = set_in(Garment("garment", "garment", (piece,), widths=DEFAULT_WIDTHS), piece)
    try:
        made, lacks = as_in(each.piece, piece)
    except PatternError as error:
        raise _Differs(f"in its “{settled.name}” {error.says}") from error
    return (_on_fold(each.piece, made) if beside else made), lacks


def _on_fold(picked: Piece, made: Piece) -> Piece:
    """A size drawn beside the picked one, with its fold on that one's."""
    mine, its = picked.fold, made.fold
    if mine is None or its is None:
        return made
    (x, y), (a, b) = (min(edge.start, edge.end, key=lambda point: point[1]) for edge in (mine, its))
    return moved(made, slide(x - a, y - b))


def _of_lines(picked: str, by_lines: Mapping[bool, Sequence[str]]) -> list[Finding]:
    """What is said of sizes of which one shows its stitching line and the other its cutting line alone."""
    found = []
    for picked_shows_both, sizes in by_lines.items():
        size = f"Size{'s' if len(sizes) > 1 else ''} {_listed(sizes)}"
        shows = "shows its" if len(sizes) == 1 else "show their"
        if picked_shows_both:
            says = f"{size} {shows} cutting line alone; set in from it by the allowances of size {picked}."
        else:
            says = f"{size} also {shows} stitching line, which size {picked} has not; read by the cutting line."
        found.append(Finding("one-line-of-two", Level.NOTICE, says))
    return found


def _of_marks(names: Mapping[str, str], picked: str, lacking: _Marks, besides: _Marks) -> list[Finding]:
    """What is said of marks that the picked size has and others lack, and of those that only others have."""
    found = []
    for (piece_id, marks), sizes in lacking.items():
        if marks:
            says = (
                f"{_where(names[piece_id], sizes)} has no {_listed(marks, 'or')} of its own; set there as in size "
                f"{picked}, at the same share of the edge or of the piece."
            )
            found.append(Finding("marks-carried", Level.NOTICE, says, piece_id))
    for (piece_id, marks), sizes in besides.items():
        if marks:
            where = _where(names[piece_id], sizes)
            says = f"{where} has marks that size {picked} has not ({_listed(marks)}); left out."
            found.append(Finding("marks-of-one-size", Level.NOTICE, says, piece_id))
    return found


def _where(name: str, sizes: Sequence[str]) -> str:
    return f"“{name}” in size{'s' if len(sizes) > 1 else ''} {_listed(sizes)}"


def _listed(words: Sequence[str], last: str = "and") -> str:
    return f"{', '.join(words[:-1])} {last} {words[-1]}" if len(words) > 1 else "".join(words)


def _within(says: str) -> str:
    """A sentence as part of another."""
    return says.rstrip(".")

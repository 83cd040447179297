"""Several sizes in one file: told by the names of layers, or by outlines lying over each other."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from app.tracing.allowance_lines import is_stitching_line
from app.tracing.found import Found, FoundLine
from app.tracing.joining import Joined, Loop, join
from app.tracing.pieces_found import LEAST_AREA, NOT_OUTLINES, is_exchange, line_role
from app.tracing.questions import Answers, Choice, Question, settled
from app.tracing.roles import SIZE_WORD, size_of_layer
from app.tracing.size_names import parted_name, sizes_of_layers
from app.tracing.sizing import LEAST_MM
from geometry.errors import PatternError
from geometry.pens import Role

#: Outlines that share this much of what they cover together are one piece in two sizes.
SHARED = 0.6
#: Outlines of one look are sizes from this many on; two may be a cutting and a stitching line.
_LEAST_ALIKE = 3
#: A size's name has no more letters, and of more sizes than this one alone is taken.
_LONGEST_NAME, _MOST = 30, 40
#: 100 pieces in 40 sizes are no more outlines than this, and fewer pairs of them lie over each other than that.
_MOST_OUTLINES, _MOST_OVER = 4_000, 100_000
#: Whether the other sizes are wanted.
BRING, LEAVE = "bring in", "leave out"
_SAID = re.compile(rf"\bsize:? *({SIZE_WORD})\b", re.IGNORECASE)
Look = tuple[str, str, tuple[float, ...]]


@dataclass(frozen=True, eq=False)
class InSize:
    """What was found of one size, with what belongs to all; ``joined`` is None where it is not joined yet."""

    size: str
    found: Found
    joined: Joined | None = None


@dataclass(frozen=True, eq=False)
class Sizes:
    """The size that is picked, all that are wanted in the order of the file, and what was asked about them."""

    picked: InSize
    every: tuple[InSize, ...]
    questions: tuple[Question, ...]


def by_name(found: Found, answers: Answers) -> Sizes:
    """The sizes of a file whose layers, or words in blocks, are named after them; one without a name otherwise."""
    named = _by_words(found) if is_exchange(found) else _by_layers(found)
    if len(named) > 1:
        return _settled(list(named.values()), answers, [])
    only = InSize(next(iter(named), ""), found)
    return Sizes(only, (only,), ())


def _by_layers(found: Found) -> Mapping[str, InSize]:
    by_size: dict[str, list[str]] = {}
    for layer, size in sizes_of_layers(dict.fromkeys(line.layer for line in found.lines)).items():
        by_size.setdefault(size, []).append(layer)
    if len(by_size) < 2 or _are_counted(found, by_size):
        return {}
    if all(size.isdigit() for size in by_size):
        # Which size is met first on the pages of a sheet says nothing.
        by_size = {size: by_size[size] for size in sorted(by_size, key=int)}
    named = {layer for layers in by_size.values() for layer in layers}
    common = _without(found, named)
    if _has_sizes_own(common, [line for line in found.lines if line.layer in named]):
        # What is on no size's layer is a size itself, with its marks, and the others are drawn beside it.
        own = _said_size(common) or "the other layers"
        others = {size: InSize(size, _without(found, _layers(found) - set(layers))) for size, layers in by_size.items()}
        return {own: InSize(own, common), **others}
    return {size: InSize(size, _without(found, named - set(layers))) for size, layers in by_size.items()}


def _are_counted(found: Found, by_size: Mapping[str, Sequence[str]]) -> bool:
    """Whether layers called 1, 2, 3 only count the pieces: no outline on one of them lies over one on another."""
    if any(len(size) > 1 or not size.isdigit() for size in by_size):
        return False
    size_of = {layer: size for size, layers in by_size.items() for layer in layers}
    loops = [Loop(line.chain, line) for line in found.lines if line.closed and line.layer in size_of]
    large = [loop for loop in loops if _may_be_size(loop, is_exchange(found))]
    over = [(size_of[one.line.layer], size_of[other.line.layer]) for one, other in _pairs_over(large)]
    return bool(large) and all(one == other for one, other in over)


def _layers(found: Found) -> set[str]:
    return {line.layer for line in found.lines} | {word.layer for word in found.words}


def _has_sizes_own(common: Found, lines: Sequence[FoundLine]) -> bool:
    """Whether outlines on layers of no size lie over those of sizes, being neither all of them nor drawn again."""
    ours, theirs = (
        [loop for loop in (Loop(line.chain, line) for line in some if line.closed) if _may_be_size(loop, False)]
        for some in (common.lines, lines)
    )
    mine = {id(loop) for loop in ours}
    over = [(one, other) for one, other in _pairs_over([*ours, *theirs]) if id(one) in mine and id(other) not in mine]
    return any(not one.polygon.equals_exact(other.polygon, 0.1) for one, other in over)


def _said_size(found: Found) -> str:
    """The size that the lettering speaks of, “” where it speaks of none or of several."""
    said = {match[1].upper() for word in found.words if (match := _SAID.search(word.words))}
    return next(iter(said)) if len(said) == 1 else ""


def _by_words(found: Found) -> Mapping[str, InSize]:
    """The sizes of a layered exchange, in which each block says its own: “Size: 12”."""
    size_of = {}
    for word in found.words:
        head, colon, tail = word.words.partition(":")
        if colon and word.group and head.strip().lower() == "size" and tail.strip():
            size_of[word.group] = tail.strip()
    sizes: dict[str, InSize] = {}
    for size in dict.fromkeys(size_of.values()):
        out = {group for group, other in size_of.items() if other != size}
        kept = replace(
            found,
            lines=tuple(line for line in found.lines if line.group not in out),
            words=tuple(word for word in found.words if word.group not in out),
            points=tuple(point for point in found.points if point.group not in out),
        )
        sizes[size] = InSize(size, kept)
    return sizes


def _without(found: Found, layers: set[str]) -> Found:
    return replace(
        found,
        lines=tuple(line for line in found.lines if line.layer not in layers),
        words=tuple(word for word in found.words if word.layer not in layers),
        points=tuple(point for point in found.points if point.layer not in layers),
    )


def by_look(found: Found, joined: Joined, gap: float, answers: Answers) -> Sizes:
    """The sizes of outlines that lie over each other: told apart by layer, dash or colour, or, where three or more
    look alike, by which is larger. Raises PatternError for names that do not fit."""
    large = [loop for loop in joined.loops if _may_be_size(loop, is_exchange(found))]
    named = _by_line_names(found, joined, large)
    if named:
        return _settled(named, answers, [])
    looks = _looks(large, is_exchange(found))
    leading = list(dict.fromkeys(looks.values()))
    if len(leading) > 1:
        names = _look_names(leading)
        asked: list[Question] = []
        if len({layer for layer, _, _ in leading}) < len(leading):
            called, asked = _called(list(names.values()), "in this order", answers)
            names = dict(zip(leading, called, strict=True))
        inner = _inner_of(joined, list(looks))
        return _settled([_of_look(found, one, looks, names[one], inner, gap) for one in leading], answers, asked)
    ranks = [] if is_exchange(found) or found.way == "photo" else _ranks(large)
    if ranks:
        numbers = [str(number) for number in range(1, len(ranks) + 1)]
        called, asked = _called(numbers, "from the smallest to the largest", answers)
        every = []
        for rank, name in zip(ranks, called, strict=True):
            out = {id(loop) for other in ranks if other is not rank for loop in other}
            loops = tuple(loop for loop in joined.loops if id(loop) not in out)
            every.append(InSize(name, found, replace(joined, loops=loops)))
        return _settled(every, answers, asked)
    only = InSize("", found, joined)
    return Sizes(only, (only,), ())


def _settled(every: list[InSize], answers: Answers, asked: list[Question]) -> Sizes:
    names = [one.size for one in every]
    choices = tuple(Choice(size) for size in names)
    asks = f"The file holds {len(names)} sizes. Which one is worked in?"
    given = answers.get("size", "").strip()
    if given.isdigit() and given not in names and asked and int(given) <= len(names):
        # Sizes without a name of their own may still go by their number.
        answers = {**answers, "size": names[max(int(given), 1) - 1]}
    which = settled(Question("size", asks, names[0], "--size", choices), answers)
    picked = next(one for one in every if one.size == which.answer)
    if len(every) > _MOST:
        return Sizes(picked, (picked,), (*asked, which))
    others = [size for size in names if size != which.answer]
    listed = f"{', '.join(others[:-1])} and {others[-1]}" if len(others) > 1 else others[0]
    asks = f"Should {listed} come in too, as a nest of sizes?"
    says = (Choice(BRING, "every size"), Choice(LEAVE, f"{which.answer} alone"))
    wanted = settled(Question("other-sizes", asks, BRING, "--other-sizes", says), answers)
    return Sizes(picked, tuple(every) if wanted.answer == BRING else (picked,), (*asked, which, wanted))


def _called(names: list[str], order: str, answers: Answers) -> tuple[list[str], list[Question]]:
    """What sizes are called that the file does not name. Raises PatternError."""
    asks = f"The file does not name its {len(names)} sizes. What are they called, {order}?"
    question = settled(Question("size-names", asks, ", ".join(names), "--size-names"), answers)
    called = [" ".join(word.split()) for word in question.answer.split(",")]
    if len(called) != len(names) or len(set(called)) < len(called) or not all(called):
        raise PatternError(
            f"--size-names “{question.answer[:60]}” should be {len(names)} different names with commas between them, "
            f"{order}."
        )
    if question.given is not None and max(len(name) for name in called) > _LONGEST_NAME:
        raise PatternError(f"The name of a size is longer than {_LONGEST_NAME} letters; shorten it.")
    return called, [question]


def _by_line_names(found: Found, joined: Joined, large: Sequence[Loop]) -> list[InSize]:
    """The sizes of outlines that lie over each other and are called alike but for a size, in the order of the file."""
    parted = {id(loop): parts for loop in large if (parts := parted_name(loop.line.name)) is not None}
    sizes: dict[str, None] = {}
    for one, other in _pairs_over([loop for loop in large if id(loop) in parted]):
        ours, theirs = parted[id(one)], parted[id(other)]
        if ours.rest == theirs.rest and ours.size != theirs.size and (ours.sure or theirs.sure):
            sizes[ours.size] = None
    every = []
    for size in sizes:
        loops = [
            replace(loop, line=line) for loop in joined.loops if (line := _of_size(loop.line, size, sizes)) is not None
        ]
        rest = [of_size for line in joined.rest if (of_size := _of_size(line, size, sizes)) is not None]
        every.append(InSize(size, found, replace(joined, loops=tuple(loops), rest=tuple(rest))))
    return every


def _of_size(line: FoundLine, size: str, sizes: Mapping[str, None]) -> FoundLine | None:
    """A line called without its size where it is of that one, as it is where it names none, None of another size."""
    parts = parted_name(line.name)
    if parts is None or parts.size not in sizes:
        return line
    return replace(line, name=parts.rest) if parts.size == size else None


def _may_be_size(loop: Loop, exchange: bool) -> bool:
    large = min(loop.box) >= LEAST_MM and loop.polygon.is_valid and loop.polygon.area >= LEAST_AREA
    return large and line_role(loop.line, exchange) not in NOT_OUTLINES


def _looks(large: Sequence[Loop], exchange: bool) -> dict[Look, Look]:
    """The looks of sizes, in the order of the file: of outlines that lie over others of another look. With each look
    stands the one that is its size's, which for the look of a size's stitching lines is that of its cutting lines.

    A dashed line all round inside a solid one alone is its stitching line, and may be a size among several.
    """
    pairs = [
        (one, other)
        for one, other in _pairs_over(large)
        if _look(one.line) != _look(other.line)
        and Role.STITCH not in {line_role(loop.line, exchange) for loop in (one, other)}
    ]
    sewn: dict[Look, dict[Look, None]] = {}
    for one, other in pairs:
        if other.line.dash and not one.line.dash and is_stitching_line(one, other):
            sewn.setdefault(_look(other.line), {})[_look(one.line)] = None
    pairs = [pair for pair in pairs if not any(_look(loop.line) in sewn for loop in pair)]
    sure = {_look(loop.line) for one, other in pairs if not _is_inside(one, other) for loop in (one, other)}
    looks = {
        _look(one.line): _look(one.line) for one, other in pairs if _look(one.line) in sure or _look(other.line) in sure
    }
    for look, of in sewn.items():
        # Of several the one that is drawn alike but for the dashes.
        alike = [one for one in of if one in looks and (len(of) == 1 or one[:2] == look[:2])]
        if len(alike) == 1:
            looks[look] = alike[0]
    return looks


def _is_inside(one: Loop, other: Loop) -> bool:
    """Whether one of a dashed and a solid line lies all round inside the other."""
    if bool(one.line.dash) == bool(other.line.dash):
        return False
    return one.polygon.contains(other.polygon) or other.polygon.contains(one.polygon)


def _of_look(found: Found, look: Look, looks: Mapping[Look, Look], name: str, inner: set[int], gap: float) -> InSize:
    lines = tuple(line for line in found.lines if looks.get(_look(line), look) == look or id(line) in inner)
    return InSize(name, replace(found, lines=lines), join(lines, gap, apart=is_exchange(found)))


def _inner_of(joined: Joined, looks: Sequence[Look]) -> set[int]:
    """The lines inside the pieces, by id, where those of one size's look alone are there: they belong to all sizes."""
    inside = [line for line in joined.rest if _look(line) in looks]
    return {id(line) for line in inside} if len({_look(line) for line in inside}) == 1 else set()


def _look(line: FoundLine) -> Look:
    return (line.layer, line.colour, line.dash)


def _pairs_over(large: Sequence[Loop]) -> list[tuple[Loop, Loop]]:
    """Every outline with each other one with which it shares most of what both cover, in the order of the file.

    Raises PatternError where more lie over each other than any nest has.
    """
    too_many = (
        f"There are {len(large)} outlines, too many that may lie over each other as sizes; choose some by "
        "their layer (--layer) or page (--pages)."
    )
    if len(large) > _MOST_OUTLINES:
        raise PatternError(too_many)
    polygons = np.array([loop.polygon for loop in large], dtype=object)
    areas = shapely.area(polygons)
    ours, theirs = shapely.STRtree(polygons).query(polygons, predicate="intersects")
    least, most = np.minimum(areas[ours], areas[theirs]), np.maximum(areas[ours], areas[theirs])
    near = (ours != theirs) & (least >= SHARED * most)
    if np.count_nonzero(near) > 2 * _MOST_OVER:
        raise PatternError(too_many)
    pairs = sorted(zip(ours[near].tolist(), theirs[near].tolist(), strict=True))
    over = {pair: _share(polygons[pair[0]], polygons[pair[1]]) >= SHARED for pair in pairs if pair[0] < pair[1]}
    return [(large[i], large[k]) for i, k in pairs if over[min(i, k), max(i, k)]]


def _share(one: shapely.Polygon, other: shapely.Polygon) -> float:
    both = float(one.intersection(other).area)
    return both / (one.area + other.area - both)


def _ranks(large: Sequence[Loop]) -> list[list[Loop]]:
    """Outlines of one look that lie over each other, three or more, as sizes from the smallest; none otherwise.

    A piece that is drawn less often is of the smaller sizes, one that is drawn once of all.
    """
    by_look: dict[Look, list[Loop]] = {}
    for loop in large:
        if line_role(loop.line, False) is not Role.STITCH:
            by_look.setdefault(_look(loop.line), []).append(loop)
    groups: list[list[Loop]] = []
    for alike in by_look.values():
        over: dict[int, list[Loop]] = {}
        for one, other in _pairs_over(alike):
            over.setdefault(id(one), []).append(other)
        left = {id(loop): loop for loop in alike}
        while left:
            waiting, group = [left.pop(next(iter(left)))], []
            while waiting:
                group.append(waiting.pop())
                waiting += [left.pop(id(loop)) for loop in over.get(id(group[-1]), ()) if id(loop) in left]
            groups.append(sorted(group, key=lambda loop: float(loop.polygon.area)))
    groups = [group for group in groups if len(group) >= _LEAST_ALIKE]
    count = max((len(group) for group in groups), default=0)
    if not _LEAST_ALIKE <= count <= _MOST:
        return []
    return [[group[rank] for group in groups if rank < len(group)] for rank in range(count)]


def _look_names(looks: Sequence[Look]) -> dict[Look, str]:
    """A name for each look by what tells them apart: the layer, else the colour, else the dashes."""
    if len({layer for layer, _, _ in looks}) == len(looks):
        return {look: size_of_layer(look[0]) or look[0] or "no layer" for look in looks}
    if len({colour for _, colour, _ in looks}) == len(looks):
        return {look: look[1] or "no colour" for look in looks}
    return {look: f"line {number}: {_dashes(look[2])} {look[1] or 'black'}" for number, look in enumerate(looks, 1)}


def _dashes(dash: tuple[float, ...]) -> str:
    return "solid" if not dash else "dashes " + " ".join(f"{one:g}" for one in dash[:6])

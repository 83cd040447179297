"""One garment of what was traced from some files: ids of their own, the seams that fit, and a nest of the sizes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from app.tracing.building import slug
from app.tracing.seams_proposed import propose
from app.tracing.tracing import Traced
from geometry.errors import PatternError
from geometry.findings import Finding, Level
from geometry.garments import DEFAULT_WIDTHS, Garment
from geometry.nests import nested
from geometry.pieces import Piece


def garment_of(traced: Sequence[Traced], name: str, *, seams: bool = True) -> Garment:
    """One garment of all pieces, with ids of their own, and the seams that fit. Pieces that came with one id from two
    files have ids after their names. Where files hold several sizes it is a nest of those that all of them hold, in the
    size that was picked. Raises PatternError without pieces, and where two are called the same.
    """
    ids = _ids(traced)
    size = _size(traced)
    garment_id = slug(name)
    while garment_id in ids:
        garment_id += "-garment"
    pieces = _pieces(traced, size, ids)
    proposed = propose(pieces) if seams else ()
    garment = Garment(garment_id, name, pieces, proposed, size=size, widths=DEFAULT_WIDTHS)
    names, _ = _common(traced)
    if len(names) < 2:
        return garment
    return nested([replace(garment, pieces=_pieces(traced, one, ids), size=one) for one in names], size)


def nest_findings(traced: Sequence[Traced]) -> tuple[Finding, ...]:
    """What is to be said of sizes that not all files hold."""
    return _common(traced)[1]


def _ids(traced: Sequence[Traced]) -> list[str]:
    """An id for each piece in order, all different. Raises PatternError."""
    ids: list[str] = []
    for one in (piece.piece for each in traced for piece in each.pieces):
        if one.id not in ids:
            ids.append(one.id)
        elif slug(one.name) not in ids:
            ids.append(slug(one.name))
        else:
            raise PatternError(
                f"Two files hold a piece “{one.name}”; call the pictures or drawings after their pieces, as "
                "“front.jpg”, or name each piece.",
                piece=one.id,
            )
    return ids


def _size(traced: Sequence[Traced]) -> str:
    return next((each.size for each in traced if each.size), "")


def _pieces(traced: Sequence[Traced], size: str, ids: Sequence[str]) -> tuple[Piece, ...]:
    """The pieces of all files in a size; those of a file without sizes are the same in every one."""
    found = [piece for each in traced for piece in each.nest.get(size, tuple(one.piece for one in each.pieces))]
    return tuple(one if one.id == its else replace(one, id=its) for one, its in zip(found, ids, strict=True))


def _common(traced: Sequence[Traced]) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """The sizes that every file with sizes holds, in order, and what is to be said of the others."""
    sized = [each for each in traced if each.size]
    held = [tuple(each.nest) or (each.size,) for each in sized]
    every = tuple(dict.fromkeys(size for sizes in held for size in sizes))
    common = tuple(size for size in every if all(size in sizes for sizes in held))
    findings = []
    left = [size for size in every if size not in common]
    if left and len(every) > 1:
        says = f"Not every file holds the size{'s' if len(left) > 1 else ''} {', '.join(left)}; left out."
        findings.append(Finding("size-left-out", Level.WARN, says))
    alone = [piece.piece.name for each in traced if not each.size for piece in each.pieces]
    if alone and len(common) > 1:
        says = f"{', '.join(f'“{name}”' for name in alone)}: the file says no size, so it is the same in every size."
        findings.append(Finding("same-in-every-size", Level.NOTICE, says))
    return (common if _size(traced) in common else ()), tuple(findings)

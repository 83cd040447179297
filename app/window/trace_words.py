"""What the page of tracing says in sentences: how exact, what is open, what is missing, what would be sewn together."""

from __future__ import annotations

from collections.abc import Sequence

from app.tracing.answering import for_the_window
from app.tracing.found import FoundPicture
from app.tracing.laid_over import lacking
from app.tracing.tracing import Traced
from app.window.trace_work import Result
from geometry.findings import Finding
from geometry.garments import Garment
from geometry.units import System, in_system, tape_words


def source_words(traced: Traced, system: System) -> str:
    """Where a file's size comes from and how exact its lines are."""
    found = traced.found
    size = in_system(found.size_source, system)
    if found.way == "photo":
        error = max(piece.error_mm for piece in traced.pieces)
        return f"Size by {size}; the outline is stated right within {error:g} mm."
    return f"Size by {size}; lines within {found.error_mm:g} mm of the file's."


def refused_words(says: str, picture: FoundPicture | None, *, parts: bool) -> str:
    """A refusal, and what may be done about it on the page; ``parts`` where other files may be joined to it."""
    words = [for_the_window(says)]
    if picture is not None and not picture.in_mm:
        words.append("Or say on the right what else its size is from.")
    if parts:
        words.append("If the files show parts of one piece, join them.")
    return " ".join(words)


def open_words(count: int) -> str:
    """How many answers stand as they were taken."""
    if not count:
        return "✓ Everything is answered."
    return f"~ {count} answer{'s stand' if count != 1 else ' stands'} as taken; look and confirm."


def missing_words(result: Result) -> list[str]:
    """What the pieces have not got, one sentence each."""
    wants = [f"~ {one}" for traced in result.each for piece in traced.pieces for one in lacking(piece)]
    return wants or ["✓ Nothing."]


def finding_words(traced: Traced, more: Sequence[Finding], system: System) -> list[str]:
    """What is to be noticed about a file and its pieces, and ``more`` about all files."""
    findings = [*traced.findings, *(one for piece in traced.pieces for one in piece.findings), *more]
    return [in_system(f"~ {one.says}", system) for one in findings]


def seam_words(garment: Garment, place: int, system: System) -> str:
    """A proposed seam with the lengths of both its sides."""
    seam = garment.seams[place]
    sides = []
    for refs in (seam.first, seam.second):
        names = " and ".join(f"{garment.edge(ref).name} of {garment.piece(ref.piece).name}" for ref in refs)
        length = sum(garment.edge(ref).length for ref in refs)
        sides.append(f"{names} ({tape_words(length, system)})")
    return f"Sewn together: {sides[0]} and {sides[1]}."

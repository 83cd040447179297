"""Parts of one piece that came in different files, laid on one sheet, so that they can be joined on a match line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from app.tracing.beside import laid_beside
from app.tracing.found import Found
from app.tracing.questions import Answers
from app.tracing.tracing import trace
from geometry.errors import PatternError


@dataclass(frozen=True, eq=False)
class Sheet:
    """What is traced as one: the places of its files, what was found in them, and what is answered about it."""

    files: tuple[int, ...]
    found: Found
    answers: Answers


def sheets(founds: Sequence[Found], answers: Sequence[Answers], names: Sequence[str]) -> list[Sheet]:
    """The sheets in the order of their first files: each file by itself, but for those that “join” ties together.

    answers: about each file; names: of the files. Raises PatternError for a part that no file holds, or several.
    """
    rows = [row.strip() for row in answers[0].get("join", "").split("\n") if row.strip()] if answers else []
    if len(founds) < 2 or not rows:
        return [Sheet((place,), found, answers[place]) for place, found in enumerate(founds)]
    bare = [{key: value for key, value in own.items() if key != "join"} for own in answers]
    parts = [_parts(found, own) for found, own in zip(founds, bare, strict=True)]
    tied = [{place} for place in range(len(founds))]
    asked: list[tuple[str, int]] = []
    for row in rows:
        held = {_file_of(side.strip().rpartition(":")[0], parts, names, row) for side in row.split("=")}
        whole = set[int]().union(*(group for group in tied if group & held))
        tied = sorted([*(group for group in tied if not group & held), whole], key=min)
        asked.append((row, min(held)))
    made = []
    for group in tied:
        files = tuple(sorted(group))
        mine = "\n".join(row for row, place in asked if place in group)
        own = {**bare[files[0]], "join": mine} if mine else bare[files[0]]
        made.append(Sheet(files, laid_beside([founds[place] for place in files]), own))
    return made


def _parts(found: Found, answers: Answers) -> dict[str, str]:
    """The names of the pieces of a file by their ids, in order."""
    return {one.drawn.id: one.drawn.raw.name for one in trace(found, answers).pieces}


def _file_of(part: str, parts: Sequence[dict[str, str]], names: Sequence[str], row: str) -> int:
    held = [place for place, named in enumerate(parts) if part in (*named, *named.values())]
    if len(held) == 1:
        return held[0]
    if held:
        both = " and ".join(f"“{names[place]}”" for place in held[:2])
        raise PatternError(f"--join “{row}”: {both} both hold a piece “{part}”; call the files after their parts.")
    listed = ", ".join(piece for named in parts for piece in named)
    raise PatternError(f"--join “{row}” should be PIECE:EDGE=PIECE:EDGE; the pieces are {listed}.")

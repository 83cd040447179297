"""What a reader found as bytes and back, so that reading can be done in a process with limits of its own."""

from __future__ import annotations

import io
import json
import struct
from typing import Any

import numpy as np

from app.tracing.found import Box, Found, FoundLine, FoundPage, FoundPicture, FoundPoint, FoundWords
from app.tracing.questions import Choice, Question
from geometry.findings import Finding, Level
from geometry.kept import frozen
from geometry.lines import Chain
from geometry.motions import Motion

#: A finding as it was made by the reader; its code is that reader's.
_AS_KEPT = Finding


def to_bytes(found: Found) -> bytes:
    """The lines' numbers as one array, everything else as JSON."""
    lines = found.lines
    cubics = np.concatenate([line.chain.cubics for line in lines]) if lines else np.zeros((0, 4, 2))
    kinds = np.concatenate([line.chain.straight for line in lines]) if lines else np.zeros(0, dtype=bool)
    plain = {
        "way": found.way,
        "lines": [
            [len(one.chain), one.closed, one.layer, one.colour, list(one.dash), one.name, one.group, one.points]
            for one in lines
        ],
        "words": [[one.words, list(one.at), one.height_mm, one.layer, one.group] for one in found.words],
        "points": [[list(one.at), one.layer, one.group] for one in found.points],
        "size_source": found.size_source,
        "error_mm": found.error_mm,
        "questions": [_question_plain(one) for one in found.questions],
        "findings": [[one.code, one.level.value, one.says] for one in found.findings],
        "pages": [[one.number, one.paper, one.frame] for one in found.pages],
    }
    stream = io.BytesIO()
    np.savez(stream, cubics=cubics, kinds=kinds)
    return _packed(json.dumps(plain).encode(), picture_bytes(found.picture), stream.getvalue())


def from_bytes(data: bytes) -> Found:
    """The reverse of ``to_bytes``."""
    text, picture, numbers = _unpacked(data)
    plain: dict[str, Any] = json.loads(text)
    with np.load(io.BytesIO(numbers), allow_pickle=False) as arrays:
        cubics, kinds = arrays["cubics"], arrays["kinds"]
    frozen(cubics)
    frozen(kinds)
    lines, start = [], 0
    for count, closed, layer, colour, dash, name, group, points in plain["lines"]:
        chain = Chain(cubics[start : start + count], kinds[start : start + count])
        lines.append(FoundLine(chain, closed, layer, colour, tuple(dash), name, group, points))
        start += count
    return Found(
        plain["way"],
        tuple(lines),
        tuple(FoundWords(words, (at[0], at[1]), *rest) for words, at, *rest in plain["words"]),
        tuple(FoundPoint((at[0], at[1]), *rest) for at, *rest in plain["points"]),
        plain["size_source"],
        plain["error_mm"],
        tuple(_question_of(one) for one in plain["questions"]),
        tuple(_finding_of(one) for one in plain["findings"]),
        picture_of(picture),
        tuple(FoundPage(number, _box(paper), frame and _box(frame)) for number, paper, frame in plain["pages"]),
    )


def _box(plain: list[float]) -> Box:
    x0, y0, x1, y1 = plain
    return (x0, y0, x1, y1)


def refusal_bytes(says: str, picture: FoundPicture | None) -> bytes:
    """Why a file was refused, and the picture in it as far as it could be shown."""
    return _packed(says.encode(), picture_bytes(picture))


def refusal_of(data: bytes) -> tuple[str, FoundPicture | None]:
    """The reverse of ``refusal_bytes``."""
    says, picture = _unpacked(data)
    return says.decode("utf-8", "replace"), picture_of(picture)


def picture_bytes(picture: FoundPicture | None) -> bytes:
    """A picture with where its points are seen; nothing for none."""
    if picture is None:
        return b""
    view, laid = picture.view, picture.view.laid
    plain = [
        list(picture.box), picture.in_mm, list(view.across), view.radial, list(view.middle), view.radius,
        [laid.a, laid.b, laid.c, laid.d, laid.e, laid.f], view.scale,
    ]  # fmt: skip
    return _packed(json.dumps(plain).encode(), picture.jpeg)


def picture_of(data: bytes) -> FoundPicture | None:
    """The reverse of ``picture_bytes``."""
    from app.photo.solving import View

    if not data:
        return None
    text, jpeg = _unpacked(data)
    box, in_mm, across, radial, middle, radius, laid, scale = json.loads(text)
    view = View(tuple(across), radial, (middle[0], middle[1]), radius, Motion(*laid), scale)
    return FoundPicture(jpeg, (box[0], box[1], box[2], box[3]), view, in_mm)


def _packed(*parts: bytes) -> bytes:
    """Parts one after another, the length of each before it."""
    return b"".join(struct.pack(">Q", len(part)) + part for part in parts)


def _unpacked(data: bytes) -> list[bytes]:
    parts, at = [], 0
    while at < len(data):
        (size,) = struct.unpack(">Q", data[at : at + 8])
        parts.append(data[at + 8 : at + 8 + size])
        at += 8 + size
    return parts


def _question_plain(one: Question) -> list[Any]:
    choices = [[choice.value, choice.says] for choice in one.choices]
    return [one.key, one.asks, one.default, one.option, choices, one.piece, one.given]


def _question_of(plain: list[Any]) -> Question:
    key, asks, default, option, choices, piece, given = plain
    return Question(key, asks, default, option, tuple(Choice(*one) for one in choices), piece, given)


def _finding_of(plain: list[Any]) -> Finding:
    return _AS_KEPT(plain[0], Level(plain[1]), plain[2])

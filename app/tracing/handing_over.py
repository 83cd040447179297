"""What a reader found as bytes and back, so that reading can be done in a process with limits of its own."""

from __future__ import annotations

import io
import json
import struct
from typing import Any

import numpy as np

from app.tracing.found import Found, FoundLine, FoundPoint, FoundWords
from app.tracing.questions import Choice, Question
from geometry.findings import Finding, Level
from geometry.lines import Chain

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
    }
    text = json.dumps(plain).encode()
    stream = io.BytesIO()
    np.savez(stream, cubics=cubics, kinds=kinds)
    return struct.pack(">Q", len(text)) + text + stream.getvalue()


def from_bytes(data: bytes) -> Found:
    """The reverse of ``to_bytes``."""
    (size,) = struct.unpack(">Q", data[:8])
    plain: dict[str, Any] = json.loads(data[8 : 8 + size])
    with np.load(io.BytesIO(data[8 + size :]), allow_pickle=False) as arrays:
        cubics, kinds = arrays["cubics"], arrays["kinds"]
    cubics.flags.writeable = kinds.flags.writeable = False
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
    )


def _question_plain(one: Question) -> list[Any]:
    choices = [[choice.value, choice.says] for choice in one.choices]
    return [one.key, one.asks, one.default, one.option, choices, one.piece, one.given]


def _question_of(plain: list[Any]) -> Question:
    key, asks, default, option, choices, piece, given = plain
    return Question(key, asks, default, option, tuple(Choice(*one) for one in choices), piece, given)


def _finding_of(plain: list[Any]) -> Finding:
    return _AS_KEPT(plain[0], Level(plain[1]), plain[2])

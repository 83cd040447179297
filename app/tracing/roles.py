"""What a line is for, by the words its file gives it: a layer's name, its own, or a number of the layered exchange.

The numbers of the layered exchange (one block a piece, ASTM D6673) are from memory, so they only suggest.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from geometry.pens import Role
from geometry.pieces import LineKind

#: Layers of the exchange by number, from memory.
EXCHANGE_LAYERS: Mapping[str, Role | None] = {
    "1": Role.CUT,
    "2": None,
    "3": None,
    "4": Role.NOTCH,
    "6": Role.FOLD,
    "7": Role.GRAIN,
    "8": Role.GUIDE,
    "11": Role.PLACEMENT,
    "13": Role.MARK,
    "14": Role.STITCH,
    "15": Role.LABEL,
}
#: Points that only say where a line turns or bends.
EXCHANGE_POINTS = frozenset({"2", "3"})

_ROLES: tuple[tuple[str, Role], ...] = (
    (r"altered strip", Role.STRIP),
    (r"as traced", Role.BEFORE),
    (r"stitch|sew(ing|n)?\b|seam ?line|\bseams?\b", Role.STITCH),
    (r"\bcut(ting)?\b", Role.CUT),
    (r"grain", Role.GRAIN),
    (r"stretch", Role.STRETCH),
    (r"notch|nicks?\b", Role.NOTCH),
    (r"\bdarts?\b", Role.DART),
    (r"\bfold\b|mirror", Role.FOLD),
    (r"placement|pocket|button", Role.PLACEMENT),
    (r"turn", Role.TURN),
    (r"\bmarks?\b|\bdots?\b|drill|\bholes?\b|bust point|apex", Role.MARK),
    (r"instruction", Role.INSTRUCTIONS),
    (r"piece name|title", Role.TITLE),
    (r"letter|\btext\b|label|annotation|\bwords\b", Role.LABEL),
    (r"guide|internal|lengthen|shorten|level|\bwaist|\bbust|\bhip|centre|center", Role.GUIDE),
)
#: Words that are lettered beside the line that they call.
_CALLS_A_LINE = re.compile(
    r"(natural )?(bust|waist|hip)( ?line)?|((lengthen|shorten)( or | and |\W*)){1,2}(here|line)?"
)
_KINDS: tuple[tuple[str, LineKind], ...] = (
    (r"grain", LineKind.GRAIN),
    (r"stretch", LineKind.STRETCH),
    (r"lengthen|shorten", LineKind.LENGTHEN),
    (r"bust", LineKind.BUST),
    (r"waist", LineKind.WAIST),
    (r"hip", LineKind.HIP),
    (r"cent(re|er)", LineKind.CENTRE),
    (r"placement|pocket|button", LineKind.PLACEMENT),
    (r"turn", LineKind.TURN),
)
#: What a size is called, as the pattern of a regular expression without groups.
SIZE_WORD = r"(?:\d{1,2}|[2-6]?x{0,4}(?:s|l)|xs|m)"
_SIZE = re.compile(rf"(?:size|eu|us|uk)?[\s_-]*({SIZE_WORD}(?:[./-]\d{{1,2}})?)", re.IGNORECASE)


def plain(text: str) -> str:
    """A name as words: “Front_CUT-line” is “front cut line”."""
    return re.sub(r"[\s_./:-]+", " ", text).strip().lower()


@lru_cache(maxsize=4096)
def role_of_words(text: str) -> Role | None:
    """The role that a name speaks of, None where it speaks of none."""
    words = plain(text)
    return next((role for pattern, role in _ROLES if re.search(pattern, words)), None)


def role_of_layer(layer: str, exchange: bool) -> Role | None:
    """The role of a layer, by its number where the file is a layered exchange."""
    if exchange and layer.strip() in EXCHANGE_LAYERS:
        return EXCHANGE_LAYERS[layer.strip()]
    return role_of_words(layer)


def kind_of_line(text: str) -> LineKind:
    """The kind of a line on the piece by its name; a guide line where the name says nothing."""
    words = plain(text)
    return next((kind for pattern, kind in _KINDS if re.search(pattern, words)), LineKind.OTHER)


def kind_said(words: str) -> LineKind | None:
    """What a line is beside which these words are lettered, None for words that call no line."""
    return kind_of_line(words) if _CALLS_A_LINE.fullmatch(plain(words)) else None


def size_of_layer(layer: str) -> str | None:
    """The size that a layer's name is, “12” for “Size 12”, None for any other layer."""
    found = _SIZE.fullmatch(layer.strip())
    return found[1].upper() if found else None

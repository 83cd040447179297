"""XML from anybody: nothing outside is fetched, nothing unfolds without end, and depth and number have a limit."""

from __future__ import annotations

import gzip
import re
import zlib
from typing import Any
from xml.etree.ElementTree import Element, ParseError, TreeBuilder

from app.tracing.limits import DEEPEST, LARGEST, MOST_THINGS, refused

_ENTITY = re.compile(r"<!ENTITY\s+([A-Za-z_][\w.-]*)\s+(\"[^\"]*\"|'[^']*')\s*>")
_DOCTYPE = re.compile(r"<!DOCTYPE[^\[>]*(\[.*?\]\s*)?>", re.DOTALL)


def parse(data: bytes, name: str) -> Element:
    """The root of an XML text. Raises PatternError for what is broken, too deep, too much or reaches outside."""
    from defusedxml.common import DefusedXmlException, EntitiesForbidden

    data = _unpacked(data, name)
    try:
        try:
            return _parsed(data, name)
        except EntitiesForbidden:
            return _parsed(_spelled_out(data, name), name)
    except DefusedXmlException as error:
        raise refused(name, "it calls for things outside itself, which are never fetched.") from error
    except (ParseError, ValueError, LookupError) as error:
        raise refused(name, f"it is damaged or no drawing ({_short(error)}).") from error


def _unpacked(data: bytes, name: str) -> bytes:
    if not data.startswith(b"\x1f\x8b"):
        return data
    try:
        unpacker = zlib.decompressobj(wbits=31)
        plain = unpacker.decompress(data, LARGEST)
    except (zlib.error, gzip.BadGzipFile) as error:
        raise refused(name, "its compression is damaged.") from error
    if unpacker.unconsumed_tail:
        raise refused(name, f"it unpacks to more than {LARGEST // 1_000_000} MB.")
    return plain


def _parsed(data: bytes, name: str) -> Element:
    from defusedxml.ElementTree import DefusedXMLParser

    parser = DefusedXMLParser(target=_Counting(name), forbid_dtd=False, forbid_entities=True, forbid_external=True)
    parser.feed(data)
    root: Element = parser.close()
    return root


class _Counting(TreeBuilder):
    """Builds the tree and stops at the limits."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self._name, self._depth, self._count = name, 0, 0

    def start(self, tag: Any, attrs: Any, /) -> Element:
        self._depth += 1
        self._count += 1
        if self._depth > 4 * DEEPEST:
            raise refused(self._name, "its groups lie inside each other too deeply.")
        if self._count > MOST_THINGS:
            raise refused(self._name, "it draws more than any pattern does; keep only the pieces in it.")
        return super().start(tag, attrs)

    def end(self, tag: str, /) -> Element:
        self._depth -= 1
        return super().end(tag)


def _spelled_out(data: bytes, name: str) -> bytes:
    """The text with its plain entities written out and no DOCTYPE; entities that nest or reach outside are refused."""
    text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8", "replace")
    doctype = _DOCTYPE.search(text)
    inner = doctype[1] or "" if doctype else ""
    entities = {found[1]: found[2][1:-1] for found in _ENTITY.finditer(inner)}
    left_over = _ENTITY.sub("", inner)
    if "<!ENTITY" in left_over or any(set(value) & set("&%<") for value in entities.values()):
        raise refused(name, "its entities stand for each other or for things outside, which is not read.")
    assert doctype is not None
    text = text[: doctype.start()] + text[doctype.end() :]
    size = len(text) + sum(text.count(f"&{key};") * len(value) for key, value in entities.items())
    if size > LARGEST:
        raise refused(name, "its entities unfold to more than any drawing holds.")
    for key, value in entities.items():
        text = text.replace(f"&{key};", value)
    text = re.sub(r"^\s*<\?xml[^>]*\?>", "", text)
    return text.encode("utf-8")


def _short(error: Exception) -> str:
    return re.sub(r"\s+", " ", str(error))[:60] or "it cannot be made out"

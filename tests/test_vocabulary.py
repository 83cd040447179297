"""Every word that a user meets stands in docs/vocabulary.md with one meaning and a source, and no row is idle.

The words are collected from the program: its types, alterations, findings, commands, files, reports, pages and window.
"""

from __future__ import annotations

import ast
import pickle
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache

import pytest

from geometry.garments import DEFAULT_WIDTHS
from geometry.pieces import Finish
from tests import vocabulary_window, vocabulary_words
from tests.vocabulary_window import Read
from tests.vocabulary_words import ROOT, Word, plain

#: Reading the whole window takes its time where the machine is busy.
pytestmark = pytest.mark.timeout(900)

#: Where a word may come from. A handbook or standard is named only where it uses the word.
SOURCES = {
    "own",
    "common practice, no source",
    "Robinson, ch. 17, Central Washington University",
    "New Mexico State University Extension, Guide C-228",
    "The Dressmaker, c. 1911-16",
    "The New Dressmaker, 1921",
    "Every Woman's Encyclopaedia vol. 4",
    "Conover, A Complete Course in Dressmaking, 1921-22",
    "Threads no. 200",
    "Threads, 2019-03-22",
    "American Sewing Guild, hem table",
    "ISO 8559-1",
    "ISO 216",
    "ISO 80000-3",
    "P. Bourke, HP-GL notes",
    "ASTM D6673, from memory",
    "ANSI/ASME Y14.1",
    "SVG 1.1",
    "DXF reference",
    "RFC 8259",
    "GNU coding standards",
}

#: Tables that are not of words.
OTHER_TABLES = ("Sources", "Widths to start from")

_LENGTH = r"[-−]?(?:\d+(?:\.\d+)?|\d+ \d+/\d+|\d+/\d+)(?: (?:mm|cm|in))?"
_PARTS = ("\n", " · ", "; ", ", ")


def tables() -> Iterator[tuple[str, list[str]]]:
    """The heading and the cells of every row of the vocabulary's tables."""
    heading = ""
    for line in (ROOT / "docs" / "vocabulary.md").read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            heading = line.removeprefix("## ")
        elif line.startswith("| ") and not line.startswith(("| word |", "| source |", "| finish | mm |")):
            yield heading, [cell.strip() for cell in line.strip().strip("|").split(" | ")]


@cache
def rows() -> dict[str, list[str]]:
    return {cells[0]: cells for heading, cells in tables() if heading not in OTHER_TABLES}


def unfilled(text: str) -> str:
    """A text with nothing said about what is filled in: “note ‹number›” is “note ‹›”."""
    return re.sub(r"‹[^›]*›", "‹›", text)


class Reader:
    """Explains the texts of the window by the rows, and keeps the rows that it needed."""

    def __init__(self, names: set[str], said: set[str]) -> None:
        self.used: set[str] = set()
        self._names = {plain(name) for name in names if name}
        self._said = {plain(one) for one in said}
        self._said |= {one.partition(": ")[2] for one in self._said if one.partition(": ")[0] in self._names}
        self._patterns = [(row, self._pattern(row)) for row in rows() if re.search("‹.+›", row)]

    def explains(self, text: str) -> bool:
        """Whether a text is a row, is made after a row, or is put together from texts that are."""
        whole = plain(text)
        if not whole or self._row(whole) or whole.endswith("."):
            return True
        for sign in _PARTS:
            parts = text.split(sign)
            if len(parts) > 1 and all(self.explains(part) for part in parts):
                return True
        return False

    def _row(self, whole: str) -> bool:
        if whole in rows():
            self.used.add(whole)
            return True
        for row, (pattern, kinds) in self._patterns:
            found = pattern.fullmatch(whole)
            if found and all(self._fits(kind, part) for kind, part in zip(kinds, found.groups(), strict=True)):
                self.used.add(row)
                return True
        return False

    def _fits(self, kind: str, part: str) -> bool:
        if kind == "name":
            return part in self._names
        return self._strung(part) if kind == "said" else self.explains(part)

    def _strung(self, part: str) -> bool:
        """Whether a text is one of the sentences, or several strung together."""
        return not part or any(part.startswith(one) and self._strung(part[len(one) :].strip()) for one in self._said)

    @staticmethod
    def _pattern(row: str) -> tuple[re.Pattern[str], list[str]]:
        kinds: list[str] = []
        pattern = ""
        for at, part in enumerate(re.split(r"‹([^›]+)›", row)):
            if at % 2 == 0:
                pattern += re.escape(part).replace(re.escape("(s)"), "s?")
            elif part in ("number", "length"):
                pattern += r"\d+" if part == "number" else _LENGTH
            else:
                pattern += "(.+)"
                kinds.append(part if part in ("name", "said") else "text")
        return re.compile(pattern), kinds


COLLECTED = {
    "kinds": vocabulary_words.of_enumerations,
    "verdicts": vocabulary_words.of_verdicts,
    "alterations": vocabulary_words.of_alterations,
    "findings": vocabulary_words.of_findings,
    "commands": vocabulary_words.of_commands,
    "the garment file": vocabulary_words.of_garment_file,
    "the settings": vocabulary_words.of_preferences,
    "layers": vocabulary_words.of_layers,
    "drawings and locks": vocabulary_words.of_other_files,
    "line table": vocabulary_words.of_line_table,
    "reports": vocabulary_words.of_reports,
    "what the source of window and pages writes out": vocabulary_window.written_words,
}


@cache
def explained(what: str) -> tuple[set[str], list[Word]]:
    """The rows that the words of a collection need, and the words without a row."""
    used: set[str] = set()
    missing = []
    by_shape = {unfilled(row): row for row in rows()}
    for word in COLLECTED[what]():
        row = next((by_shape[name] for name in word.names if name in by_shape), None)
        if row is None:
            missing.append(word)
        else:
            used.add(row)
    return used, missing


@pytest.fixture(scope="module")
def reading(tmp_path_factory: pytest.TempPathFactory) -> tuple[Read, Reader, list[str]]:
    """The window read in all its states and the samples' paper, with the reader of them and what it cannot explain.

    It is read in a process of its own: the whole application is dressed anew again and again, with every window that
    other tests left.
    """
    kept = tmp_path_factory.mktemp("window") / "read.pickle"
    subprocess.run([sys.executable, "-m", "tests.vocabulary_window", str(kept)], cwd=ROOT, check=True)
    read = Read(*pickle.loads(kept.read_bytes()))
    reader = Reader(read.names, read.said)
    missing = [f"{text} ({where})" for text, where in read.texts.items() if not reader.explains(text)]
    missing += [f"{text} (on paper)" for text in vocabulary_words.on_paper() if not reader.explains(text)]
    return read, reader, missing


def test_every_row_has_one_meaning_and_a_known_source() -> None:
    seen: set[str] = set()
    for heading, cells in tables():
        if heading in OTHER_TABLES:
            continue
        assert len(cells) == 3 and all(cells), f"“{cells[0]}” under {heading} wants a meaning and a source"
        word, _, source = cells
        assert word == plain(word), f"“{word}” is written without capitals and signs of a menu"
        assert word not in seen, f"“{word}” has two rows; give one of them its place, as in “pressed: open”"
        assert source in SOURCES, f"“{source}” of “{word}” is no source"
        seen.add(word)


def test_the_list_of_sources_is_the_one_that_is_used() -> None:
    listed = {cells[0] for heading, cells in tables() if heading == "Sources"}
    assert listed == SOURCES == {cells[2] for cells in rows().values()}


def test_the_widths_to_start_from_are_those_of_the_program_and_each_has_a_source() -> None:
    """Hems turned up lie within the 3/4 to 1 1/4 in of the American Sewing Guild's table for tops."""
    listed = {cells[0]: cells[1:] for heading, cells in tables() if heading == "Widths to start from"}
    assert {finish: float(width) for finish, (width, _) in listed.items()} == dict(DEFAULT_WIDTHS)
    assert all(why.rpartition("; ")[2] in SOURCES for _, why in listed.values())
    for finish in (Finish.HEM_ONCE, Finish.HEM_TWICE):
        assert 0.75 * 25.4 <= DEFAULT_WIDTHS[finish] <= 1.25 * 25.4


@pytest.mark.parametrize("what", COLLECTED)
def test_every_word_of_the_program_has_its_row(what: str) -> None:
    used, missing = explained(what)
    assert not missing
    assert len(used) > 3


def test_every_text_in_the_window_and_on_paper_has_its_row(reading: tuple[Read, Reader, list[str]]) -> None:
    read, _, missing = reading
    assert not missing
    assert len(read.texts) > 150 and read.said and read.names


def test_no_row_stands_idle(reading: tuple[Read, Reader, list[str]]) -> None:
    needed = reading[1].used.union(*(explained(what)[0] for what in COLLECTED))
    idle = sorted(set(rows()) - needed)
    assert not idle


@pytest.mark.parametrize(
    ("text", "is_explained"),
    [
        ("&Save as…", True),
        ("23.1 / 19.9 cm, 3.2 cm stretched on", True),
        ("9 1/16 / 7 13/16 in", True),
        ("meet at: shoulder tip ▾", True),
        ("Undo: write “Armhole gapes”", True),
        ("Sleeve •", True),
        ("Collar •", False),
        ("Save as well", False),
        ("side by side, upside down", False),
        ("3.2 ells stretched on", False),
    ],
)
def test_the_reader_knows_a_word_from_no_word(text: str, is_explained: bool) -> None:
    assert Reader({"Sleeve"}, set()).explains(text) is is_explained


def test_a_code_that_cannot_be_followed_is_refused() -> None:
    tree = ast.parse("def say(code):\n    Finding(code)\nsay('one')\nsay('two' if x else 'three')\n")
    (call,) = vocabulary_words._calls(tree, "Finding")
    assert sorted(vocabulary_words._codes(tree, call.args[0])) == ["one", "three", "two"]
    with pytest.raises(AssertionError, match="cannot be followed"):
        list(vocabulary_words._codes(tree, ast.parse("a + b", mode="eval").body))

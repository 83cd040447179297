"""Every reader is given files that are cut off, changed, huge, bottomless or hostile: each ends in one sentence.

The seeds are fixed and the counts are stated, so that a run can be done again. Reading is done here in this process,
and for files made to harm in the process with limits that the command line reads in.
"""

from __future__ import annotations

import io
import random
import zlib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import sample_pieces
from app.command_line import main
from app.tracing import guarded
from app.tracing.guarded import read_guarded
from app.tracing.reading import read_found
from app.tracing.tracing import trace
from geometry.errors import PatternError
from tests.drawing_files import TO_PAGE, found_in, front_path, single_sheet_pdf, svg

#: Changed files a reader is given in the usual run, and in the long one, which takes about an hour for all three.
FEW, MANY = {"svg": 1500, "dxf": 350, "pdf": 800}, {"svg": 300_000, "dxf": 60_000, "pdf": 180_000}

_WORDS = (b"nan", b"1e999", b"-", b"", b"0", b"99999999999999999999", b"<g>", b"%", b"inf", b"\x00", b"]]>")


@cache
def seeds() -> dict[str, tuple[bytes, ...]]:
    """A few small files of each kind to start from."""
    group = '<g id="l" transform="rotate(5)"><circle r="9" cx="90" cy="90"/><use href="#front"/></g>'
    style = "<style>.a{stroke:red}</style>"
    inner = '<svg x="5" width="50%" height="90" viewBox="0 0 9 9"><rect width="9" height="9"/></svg>'
    return {
        "svg": (
            svg(front_path(TO_PAGE) + group + style + inner),
            sample_pieces.path("tracings/undershirt-front-back.svg").read_bytes(),
        ),
        "dxf": (small_dxf(), sample_pieces.path("tracings/undershirt-front-back.dxf").read_bytes()),
        "pdf": (single_sheet_pdf(), plain_pdf()),
    }


def small_dxf() -> bytes:
    import ezdxf

    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    block = document.blocks.new("FRONT")
    block.add_lwpolyline([(0, 0), (200, 0, 0, 0, 0.3), (200, 300), (0, 300)], close=True, dxfattribs={"layer": "1"})
    block.add_text("Piece Name: FRONT").set_placement((10, 10))
    document.modelspace().add_blockref("FRONT", (0, 0), dxfattribs={"rotation": 5})
    document.modelspace().add_spline([(0, 0), (10, 50), (90, 20)])
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


def plain_pdf() -> bytes:
    """A page whose content is not packed, so that a change reaches the drawing."""
    content = b"q 1 0 0 1 0 0 cm 20 20 m 400 20 l 400 500 l 20 500 l h S [4 2] 0 d 50 50 m 90 90 80 70 300 60 c S Q"
    stream = b"4 0 obj<</Length %d>>stream\n%s\nendstream endobj\n" % (len(content), content)
    parts = [
        b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n",
        b"2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj\n",
        b"3 0 obj<</Type/Page/Parent 2 0 R/MediaBox[0 0 500 600]/Contents 4 0 R/Resources<<>>>>endobj\n",
        stream + b"trailer<</Root 1 0 R/Size 5>>\n%%EOF\n",
    ]
    return b"".join(parts)


def changed(data: bytes, chance: random.Random) -> bytes:
    """The file cut off, or with some of its bytes, numbers or stretches changed, doubled or gone."""
    what = chance.randrange(6)
    if what == 0:
        return data[: chance.randrange(len(data))]
    found = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 5, 30))):
        at = chance.randrange(len(found) or 1)
        size = chance.choice((1, 2, 8, 60))
        if what == 1:
            found[at : at + 1] = bytes([chance.randrange(256)])
        elif what == 2:
            found[at : at + size] = chance.choice(_WORDS)
        elif what == 3:
            del found[at : at + size]
        elif what == 4:
            other = chance.randrange(len(found) or 1)
            found[at:at] = found[other : other + 20 * size]
        else:
            digits = [i for i in range(at, min(at + 400, len(found))) if chr(found[i]).isdigit()]
            if digits:
                found[chance.choice(digits)] = chance.choice(b"0123456789.-eE,")
    return bytes(found)


def ends_in_a_sentence(data: bytes, name: str) -> bool:
    """Whether a file is refused; anything but pieces or one sentence is a failure."""
    try:
        trace(read_found(data, name, {}), {})
    except PatternError as error:
        assert error.says and "\n" not in error.says and error.says.endswith((".", "?", "…", "”")), error.says
        return True
    return False


def run(kind: str, count: int, seed: int) -> None:
    chance = random.Random(seed)
    refused = sum(ends_in_a_sentence(changed(chance.choice(seeds()[kind]), chance), f"x.{kind}") for _ in range(count))
    # Some changes do no harm, and some do: both must have been met, or nothing was tried.
    assert 0 < refused < count


@pytest.mark.parametrize("kind", ["svg", "dxf", "pdf"])
def test_changed_files_end_in_pieces_or_in_one_sentence(kind: str) -> None:
    run(kind, FEW[kind], 4)


@pytest.mark.long
@pytest.mark.timeout(3600)
@pytest.mark.parametrize("kind", ["svg", "dxf", "pdf"])
def test_very_many_changed_files_end_in_pieces_or_in_one_sentence(kind: str) -> None:
    run(kind, MANY[kind], 40)


def hostile() -> Iterator[tuple[str, bytes]]:
    """Files made to harm: bottomless, unfolding, huge, or reaching outside."""
    levels = "".join(f'<g id="g{i + 1}">' + f'<use href="#g{i}"/>' * 9 + "</g>" for i in range(9))
    yield "unfolding.svg", svg(f'<defs><g id="g0"><rect width="9" height="9"/></g>{levels}</defs><use href="#g9"/>')
    yield "deep.svg", svg("<g>" * 30000 + "</g>" * 30000)
    yield "long.svg", svg('<path d="M0 0 ' + "L 5 5 9 9 " * 400000 + '"/>')
    bomb = (
        '<!DOCTYPE svg [<!ENTITY a "'
        + "a" * 900
        + '">'
        + "".join(f'<!ENTITY {chr(98 + i)} "{("&" + chr(97 + i) + ";") * 10}">' for i in range(9))
    )
    yield "bomb.svg", svg("<text>&j;</text>", more=bomb + "]>")
    yield "packed.svgz", b"\x1f\x8b\x08" + b"\0" * 7 + zlib.compress(b"<svg>" + b" " * 90_000_000, 9)[2:-4]
    yield "outside.svg", svg("<text>&x;</text>", more='<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>')
    yield "styles.svg", svg("<style>" + "a{" * 200000 + "</style>")
    yield "rows.dxf", small_dxf().replace(b" 50\n5.0\n", b" 50\n5.0\n 70\n32000\n 71\n32000\n")
    line = b"0\nLINE\n8\n0\n10\n0.0\n20\n0.0\n11\n9.0\n21\n9.0\n"
    yield "long.dxf", b"0\nSECTION\n2\nENTITIES\n" + line * 300000 + b"0\nENDSEC\n0\nEOF\n"
    yield "packed.pdf", packed_pdf()
    yield "kids.pdf", plain_pdf().replace(b"/Kids[3 0 R]", b"/Kids[2 0 R]")
    yield "pages.pdf", plain_pdf().replace(b"/Kids[3 0 R]/Count 1", b"/Kids[" + b"3 0 R " * 3000 + b"]/Count 3000")


def packed_pdf() -> bytes:
    """Content that unpacks to 2 GB: zeros packed, and packed once more."""
    inner = zlib.compress(b"0 0 m 9 9 l S\n" * 5_000_000, 9)
    data = zlib.compress(inner, 9)
    head = b"4 0 obj<</Filter[/FlateDecode/FlateDecode]/Length %d>>stream\n" % len(data)
    start = plain_pdf().index(b"4 0 obj")
    return plain_pdf()[:start] + head + data + b"\nendstream endobj\ntrailer<</Root 1 0 R/Size 5>>\n%%EOF\n"


@pytest.mark.parametrize(("name", "data"), list(hostile()), ids=[name for name, _ in hostile()])
def test_files_made_to_harm_are_refused_within_the_limits(
    name: str, data: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guarded, "SECONDS", 5.0)
    path = tmp_path / name
    path.write_bytes(data)
    before = sorted(tmp_path.iterdir())
    with pytest.raises(PatternError) as refused:
        trace(read_guarded(data, name, {}), {})
    assert refused.value.says.endswith((".", "?")) and "\n" not in refused.value.says
    assert sorted(tmp_path.iterdir()) == before


def test_a_file_that_takes_too_long_or_too_much_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guarded, "SECONDS", 0.01)
    with pytest.raises(PatternError, match="takes too long"):
        read_guarded(svg(front_path(TO_PAGE)), "front.svg", {})


def test_what_the_process_with_limits_hands_over_is_what_was_read() -> None:
    from geometry.sameness import same

    for data in (seeds()["svg"][1], seeds()["dxf"][0], seeds()["pdf"][0]):
        assert same(read_guarded(data, "drawing", {}), found_in(data), 0.0)


def test_a_refused_file_leaves_nothing_behind(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.dxf"
    bad.write_bytes(seeds()["dxf"][1][:5000])
    assert main(["trace", str(bad), "--out", str(tmp_path / "out.garment.json")]) == 2
    assert "ends in the middle" in capsys.readouterr().err
    assert sorted(one.name for one in tmp_path.iterdir()) == ["bad.dxf"]

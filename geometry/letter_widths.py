"""How wide lettering is: the advance widths of the two typefaces that come with the program.

Widths of DejaVu Sans and DejaVu Sans Bold in 1/1000 of the type size, for the characters of ISO 8859-1.
"""

from __future__ import annotations

from functools import lru_cache

#: Height of the capitals over the type size in both typefaces (1493 of 2048 units).
CAPITALS = 1493 / 2048

_FALLBACK = 0.66


def _table(widths: str) -> dict[str, float]:
    codes = [*range(32, 127), *range(160, 256)]
    return {chr(code): int(width) / 1000 for code, width in zip(codes, widths.split(), strict=True)}


_PLAIN = _table(
    """
    318 401 460 838 636 950 780 275 390 390 500 838 318 361 318 337 636 636 636 636 636 636 636 636 636 636 337 337
    838 838 838 531 1000 684 686 698 770 632 575 775 752 295 295 656 557 863 748 787 603 787 695 635 611 732 684 989
    685 611 685 390 337 390 838 500 500 613 635 550 635 615 352 635 634 278 278 579 278 974 634 612 635 635 411 521
    392 634 592 818 592 592 525 636 337 636 838 318 401 636 636 636 636 337 500 500 1000 471 612 838 361 1000 500
    500 838 401 401 500 636 636 318 500 401 471 612 969 969 969 531 684 684 684 684 684 684 974 698 632 632 632 632
    295 295 295 295 775 748 787 787 787 787 787 838 787 732 732 732 732 611 605 630 613 613 613 613 613 613 982 550
    615 615 615 615 278 278 278 278 612 634 612 612 612 612 612 838 612 634 634 634 634 592 635 592
    """
)

_BOLD = _table(
    """
    348 456 521 838 696 1002 872 306 457 457 523 838 380 415 380 365 696 696 696 696 696 696 696 696 696 696 400 400
    838 838 838 580 1000 774 762 734 830 683 683 821 837 372 372 775 637 995 837 850 733 850 770 720 682 812 774
    1103 771 724 725 457 365 457 838 500 500 675 716 593 716 678 435 716 712 343 343 665 343 1042 712 687 716 716
    493 595 478 712 652 924 645 652 582 712 365 712 838 348 456 696 696 636 696 365 500 500 1000 564 646 838 415
    1000 500 500 838 438 438 500 736 636 380 500 438 564 646 1035 1035 1035 580 774 774 774 774 774 774 1085 734 683
    683 683 683 372 372 372 372 838 837 850 850 850 850 850 838 850 812 812 812 812 724 738 719 675 675 675 675 675
    675 1048 593 678 678 678 678 343 343 343 343 687 712 687 687 687 687 687 838 687 712 712 712 712 652 716 652
    """
)

#: A name longer than this is cut short where it is shown; on a piece it would stick out of it.
MOST_LETTERS = 60
#: A word that is too wide for a row is broken after no fewer letters.
LEAST_BROKEN = 3

_PLAIN |= {"–": 0.5, "—": 1.0, "‘": 0.318, "’": 0.318, "“": 0.518, "”": 0.518, "•": 0.59, "→": 0.838}
_BOLD |= {"–": 0.5, "—": 1.0, "‘": 0.38, "’": 0.38, "“": 0.657, "”": 0.657, "•": 0.639, "→": 0.838}


def shortened(name: str, most: int = MOST_LETTERS) -> str:
    """A name of at most so many letters, cut short with an ellipsis where it is longer."""
    return name if len(name) <= most else f"{name[: most - 1].rstrip()}…"


def advances_mm(words: str, height_mm: float, *, bold: bool = False) -> list[float]:
    """How far each character carries the next, in mm, for capitals ``height_mm`` high."""
    table = _BOLD if bold else _PLAIN
    size = height_mm / CAPITALS
    return [table.get(letter, _FALLBACK) * size for letter in words]


@lru_cache(maxsize=4096)
def width_mm(words: str, height_mm: float, *, bold: bool = False) -> float:
    """Width of a line of words in mm, for capitals ``height_mm`` high."""
    return sum(advances_mm(words, height_mm, bold=bold))


def wrapped(words: str, height_mm: float, width: float) -> list[str]:
    """Words broken into rows no wider than ``width`` mm; a word that is wider by itself is broken with a hyphen."""
    rows = [""]
    for word in words.split():
        longer = f"{rows[-1]} {word}".strip()
        if width_mm(longer, height_mm) <= width:
            rows[-1] = longer
        elif width_mm(word, height_mm) <= width:
            rows.append(word)
        else:
            first, *more = _broken(longer, height_mm, width)
            rows[-1:] = [first, *more] if len(longer) - len(word) < len(first) - LEAST_BROKEN else (
                [rows[-1], *_broken(word, height_mm, width)]
            )
    return rows


def _broken(word: str, height_mm: float, width: float) -> list[str]:
    """A word in rows no wider than ``width`` mm, a hyphen at the end of each but the last."""
    rows = []
    while len(word) > LEAST_BROKEN and width_mm(word, height_mm) > width:
        most = len(word) - 1
        while most > LEAST_BROKEN and width_mm(f"{word[:most]}-", height_mm) > width:
            most -= 1
        rows.append(f"{word[:most]}-")
        word = word[most:]
    return [*rows, word]

"""The printers of this machine: the system's queues (CUPS, by lp), to which pages are always sent without scaling."""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass

from geometry.errors import PatternError
from geometry.papers import BOTH, Paper

#: What a paper may be called in a printer's list of page sizes; the first is the usual name.
_CALLED = {
    "A4": ("A4", "iso_a4_210x297mm"),
    "Letter": ("Letter", "na_letter_8.5x11in"),
    "A3": ("A3", "iso_a3_297x420mm"),
    "A2": ("A2", "iso_a2_420x594mm"),
    "A1": ("A1", "iso_a1_594x841mm"),
    "A0": ("A0", "iso_a0_841x1189mm"),
    "Legal": ("Legal", "na_legal_8.5x14in"),
    "Tabloid": ("Tabloid", "11x17", "Ledger", "na_ledger_11x17in"),
}
#: How a printer says that it takes sizes of her own.
_OWN_SIZE = "Custom.WIDTHxHEIGHT"
#: Nothing of the print system may keep the program waiting longer (s).
_PATIENCE_S = 30
_MOST_TITLE = 80
#: What the system's own settings might do to pages, undone: no scaling, one page a sheet, one side.
_AS_IT_IS = ("print-scaling=none", "number-up=1", "sides=one-sided", "page-border=none")


@dataclass(frozen=True)
class Queue:
    """A printer: its ``name``, whether it takes pages now, why not or why they would wait, and whether it is the
    machine's usual one."""

    name: str
    accepting: bool = True
    waits: bool = False
    why: str = ""
    usual: bool = False

    @property
    def says(self) -> str:
        """Its state in a few words; empty when it simply prints."""
        reason = f" ({self.why})" if self.why else ""
        if not self.accepting:
            return f"takes no pages now{reason}"
        return f"switched off, pages wait{reason}" if self.waits else ""


@dataclass(frozen=True)
class Sizes:
    """The page sizes that a printer says it takes, and which of them it takes unless told otherwise."""

    names: tuple[str, ...]
    usual: str = ""


def queues() -> tuple[Queue, ...]:
    """The printers of this machine, the usual one first, the others by name.

    Raises PatternError where there is no print system, or where it does not answer.
    """
    found = _asked(["lpstat", "-e"])
    names = sorted(line.split()[0] for line in found.stdout.splitlines() if line.strip())
    if found.returncode and not names and "No destinations" not in found.stderr:
        raise PatternError(
            "The print system of this machine does not answer; start it (CUPS), or save the pages as a PDF."
        )
    usual = _asked(["lpstat", "-d"]).stdout.rpartition(": ")[2].strip()
    states = _states(_asked(["lpstat", "-a", "-p"]).stdout)
    made = [_queue(name, *states.get(name, ("", "")), name == usual) for name in names]
    return tuple(sorted(made, key=lambda queue: not queue.usual))


def queue(name: str) -> Queue:
    """The printer of this name. Raises PatternError where there is none, or it takes no pages."""
    there = queues()
    if not there:
        raise PatternError("No printer is set up on this machine; set one up, or save the pages as a PDF.")
    for one in there:
        if one.name == name:
            if not one.accepting:
                raise PatternError(f"The printer “{name}” {one.says}; let it take pages again, or take another.")
            return one
    names = ", ".join(f"“{one.name}”" for one in there)
    raise PatternError(f"There is no printer “{_short(name)}” on this machine; there are {names}.")


def sizes(name: str) -> Sizes | None:
    """What page sizes a printer takes; None where it does not say."""
    for line in _asked(["lpoptions", "-p", name, "-l"]).stdout.splitlines():
        if line.startswith("PageSize"):
            words = line.partition(": ")[2].split()
            usual = next((word[1:] for word in words if word.startswith("*")), "")
            return Sizes(tuple(word.lstrip("*") for word in words), usual)
    return None


def media(name: str, paper: Paper) -> str:
    """What the printer calls this paper; pages that fit A4 and Letter go on whichever of them it usually takes.

    Raises PatternError for a printer that does not take the paper: it would print on another and cut the page off.
    """
    known = sizes(name)
    if known is None:
        return _usual_name(paper)
    for called in _names_of(paper, known):
        if called in known.names:
            return called
    if paper != BOTH and _OWN_SIZE in known.names:
        return f"Custom.{paper.width_mm:g}x{paper.height_mm:g}mm"
    takes = ", ".join(size for size in known.names if size in _CALLED) or "only sizes that no pages are made for"
    raise PatternError(
        f"The printer “{name}” does not take {paper.name}; it takes {takes}. Choose another paper, or save the pages "
        "as a PDF."
    )


def taken(name: str, paper: Paper) -> str:
    """What a printer that takes pages of this paper now calls it. Raises PatternError where it does not."""
    queue(name)
    return media(name, paper)


def send(data: bytes, name: str, paper: Paper, title: str) -> str:
    """Send a PDF to a printer at its own size, on this paper, one-sided; gives what the printer calls the paper.

    Raises PatternError where the printer is not there, takes no pages or does not take the paper; nothing is sent then.
    """
    called = taken(name, paper)
    options = [word for option in (*_AS_IT_IS, f"media={called}") for word in ("-o", option)]
    sent = _asked(["lp", "-d", name, "-t", title[:_MOST_TITLE] or "Pattern pieces", *options], data)
    if sent.returncode:
        reason = sent.stderr.strip().removeprefix("lp: ").removeprefix("Error - ").rstrip(".")
        raise PatternError(f"The pages were not sent to “{name}”: {reason or 'the print system refused them'}.")
    return called


def _queue(name: str, takes: str, prints: str, usual: bool) -> Queue:
    refused, off = "not accepting" in takes, "disabled" in prints
    why = _reason(takes) if refused else _reason(prints) if off else ""
    return Queue(name, not refused, off, why, usual)


def _reason(state: str) -> str:
    why = state.partition("\t")[2].strip()
    return "" if why in ("", "Rejecting Jobs", "Paused", "reason unknown") else why.rstrip(".")


def _states(said: str) -> dict[str, tuple[str, str]]:
    """For each printer what “lpstat -a -p” says of its taking pages and of its printing them, reasons behind a tab."""
    found: dict[str, tuple[str, str]] = {}
    name, which = "", 0
    for line in said.splitlines():
        if line.startswith("\t"):
            if name:
                states = list(found[name])
                states[which] += line
                found[name] = (states[0], states[1])
            continue
        printing = re.match(r"printer (\S+) ", line)
        taking = re.match(r"(\S+) (?:not )?accepting ", line)
        if match := taking or printing:
            name, which = match[1], 0 if taking else 1
            known = found.get(name, ("", ""))
            found[name] = (line, known[1]) if which == 0 else (known[0], line)
        else:
            name = ""
    return found


def _names_of(paper: Paper, known: Sizes) -> tuple[str, ...]:
    if paper != BOTH:
        return _CALLED.get(paper.name, ())
    both = (*_CALLED["A4"], *_CALLED["Letter"])
    return (known.usual, *both) if known.usual in both else both


def _usual_name(paper: Paper) -> str:
    if paper.name in _CALLED:
        return _CALLED[paper.name][0]
    return "A4" if paper == BOTH else f"Custom.{paper.width_mm:g}x{paper.height_mm:g}mm"


def _asked(words: Sequence[str], data: bytes = b"") -> _Answer:
    environment = {**os.environ, "LC_ALL": "C.UTF-8"}
    try:
        done = subprocess.run(words, input=data, capture_output=True, timeout=_PATIENCE_S, env=environment, check=False)
    except FileNotFoundError:
        raise PatternError(
            f"This machine has no print system ({words[0]} is missing); save the pages as a PDF to print elsewhere."
        ) from None
    except (OSError, subprocess.TimeoutExpired) as error:
        raise PatternError("The print system of this machine does not answer; save the pages as a PDF.") from error
    return _Answer(done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace"))


@dataclass(frozen=True)
class _Answer:
    returncode: int
    stdout: str
    stderr: str


def _short(name: str) -> str:
    return name if len(name) <= 40 else f"{name[:30]}…"

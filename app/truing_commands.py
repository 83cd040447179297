"""The commands that true every seam and say what a corner is meant to be."""

from __future__ import annotations

import argparse

from app import truing_acts
from app.commands import Outcome, changed_file, saved
from app.documents import Document
from app.files.garment_file import open_file
from app.report import has_note_fault
from app.saying import Say
from geometry.every_seam import Trued
from geometry.pipeline import draft


def true_seams(options: argparse.Namespace, say: Say) -> Outcome:
    """Notes added until every seam is true; with ``dry_run`` they are only said."""
    found: list[Trued] = []

    def change(document: Document) -> Document:
        document, trued = truing_acts.every_seam(document, options.leave_traced)
        found.append(trued)
        return document

    if options.dry_run:
        document = change(open_file(options.garment)[0])
        drafted = draft(document.garment, document.notes)
    else:
        _, drafted = saved(options, change)
    for line in truing_acts.truing_words(found[0]):
        say(line)
    return Outcome(truing_acts.truing_values(found[0]), has_note_fault(drafted))


def say_corner(options: argparse.Namespace, say: Say) -> Outcome:
    """A corner that is meant to point, or is to run on however it was traced."""

    def change(document: Document) -> Document:
        return truing_acts.said_of(document, options.corner, options.saying)

    return changed_file(options, say, change)

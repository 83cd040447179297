"""Drafts every sample garment. ``python -m sample_pieces.draft`` writes the sample files anew."""

from __future__ import annotations

from sample_pieces.drafting.undershirt import undershirt

__all__ = ["undershirt"]

"""Drafts every sample garment. ``python -m sample_pieces.draft`` writes the sample files anew."""

from __future__ import annotations

from sample_pieces.drafting.funnel_neck import funnel_neck
from sample_pieces.drafting.undershirt import undershirt
from sample_pieces.drafting.waistcoat import waistcoat

__all__ = ["funnel_neck", "undershirt", "waistcoat"]

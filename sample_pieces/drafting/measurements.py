"""The bodies that the samples are drafted for, in mm, each number with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

INCH = 25.4


@dataclass(frozen=True)
class Body:
    """Girths and lengths of one body in mm; ``table`` names the published table of the girths."""

    size: str
    table: str
    bust: float
    waist: float
    hip: float
    back_waist_length: float
    upper_arm: float
    #: Round the head, and round the hand with its thumb laid in: chosen by us.
    head: float = 570.0
    hand: float = 225.0


#: Bust and waist: ASTM D5585-11e1, size 10 (37 1/4 in, 30 1/2 in). The rest is chosen by us to go with them.
ASTM_10 = Body(
    size="10 (ASTM D5585-11e1)",
    table="ASTM D5585-11e1",
    bust=37.25 * INCH,
    waist=30.5 * INCH,
    hip=1005.0,
    back_waist_length=410.0,
    upper_arm=290.0,
)

#: Bust, waist, hip: published envelope table for misses, size 14 (36, 28, 38 in). The rest is chosen by us.
ENVELOPE_14 = Body(
    size="14 (envelope table, misses)",
    table="published envelope table, misses",
    bust=36 * INCH,
    waist=28 * INCH,
    hip=38 * INCH,
    back_waist_length=410.0,
    upper_arm=280.0,
)

"""Every tolerance of the geometry, named, in mm or degrees, with its reason."""

from __future__ import annotations

#: Points made from a curve to measure, solve or write lie this close to it (mm).
FLATTEN_MM = 0.005
#: Points on lines that are compared stand no further apart than this where they are curved (mm).
SAMPLED_MM = 1.0
#: Points with known directions are fitted with cubics this close to them (mm).
REFIT_MM = 0.005
#: Points closer than this are one point; far above rounding, far below anything that sews (mm).
MEET_MM = 1e-6
#: A joint whose ends meet within MEET_MM and whose tangents agree within this many radians is healed.
HEAL_RAD = 1e-7
#: An edge that turns less than this in all is straight and is redrawn with a ruler (degrees).
STRAIGHT_DEG = 0.5
#: Simplicity of an outline is tested on points this close to the curve (mm).
SIMPLE_MM = 0.02

#: Walking the seams: up to this the seam is true (0.03 in is a published limit for computer-made patterns).
TRUE_MM = 0.8
#: Up to 1/16 in a notice, up to 1/8 in a warning, above that a fault.
NOTICE_MM = 1.6
WARN_MM = 3.2
#: Lengths are rounded to this before a limit is applied, so verdicts agree across machines (mm).
VERDICT_STEP_MM = 0.001

#: Corners at a fold are square, and joined corners add to 180, within this (degrees).
SQUARE_DEG = 1.0
#: A corner further off than this in the tracing counts as meant to point (degrees).
MEANT_TO_POINT_DEG = 10.0
#: A seam may be let out to this distance from the cut edge and no nearer (mm).
LEAST_ALLOWANCE_MM = 6.0
#: Mitre reach over allowance at which a corner that runs on to a point is cut square.
MITRE_LIMIT = 5.0
#: A stored resulting edge length that differs by more than this on opening is a finding (mm).
REOPEN_MM = 0.1

"""The seams of the waistcoat in the order in which they are sewn."""

from __future__ import annotations

from geometry.garments import Pressed, Seam
from sample_pieces.drafting.paper import eased, seam

#: The back shoulder may be 1/4 in (6 mm) longer than the front's (Every Woman's Encyclopaedia, vol. 4, c. 1911).
SHOULDER_EASE = 6.0


def waistcoat_seams() -> tuple[Seam, ...]:
    return (
        seam(
            "centre_back",
            "centre back seam",
            ["back.centre"],
            ["back.centre"],
            sewn=1,
            matches=[("centre back notch", "back.centre.notch", "back.centre.notch")],
        ),
        seam(
            "shoulders",
            "shoulder seam",
            ["front.shoulder"],
            ["back.shoulder"],
            sewn=2,
            stretches=[eased(SHOULDER_EASE)],
        ),
        seam("facing_shoulders", "facing shoulder seam", ["front_facing.shoulder"], ["back_facing.shoulder"], sewn=3),
        seam(
            "neck_and_front",
            "neckline and front edge to facing",
            ["front.neck", "front.edge"],
            ["front_facing.neck", "front_facing.edge"],
            sewn=4,
            pressed=Pressed.TO_SECOND,
            matches=[
                ("neck notch", "front.neck.notch", "front_facing.neck.notch"),
                ("front edge notch", "front.edge.notch", "front_facing.edge.notch"),
            ],
        ),
        seam(
            "back_neck",
            "back neckline to facing",
            ["back.neck"],
            ["back_facing.neck"],
            sewn=4,
            pressed=Pressed.TO_SECOND,
        ),
        seam(
            "sides",
            "side seam",
            ["-front.side"],
            ["-back.side"],
            sewn=5,
            matches=[("side notch", "front.side.notch", "back.side.notch")],
        ),
    )

"""A fitter's list, item by item: the alteration that does it, the use that is drawn, and its outside check.

The outside check is a test whose expected values come from outside the project; its source stands beside it. A new
alteration adds its rows here, or its page cannot be written.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.alteration_cases import CASES, Case

ROBINSON = "Robinson, ch. 17, Central Washington University"
PRACTICE = "common practice, no source"
GEOMETRY = "geometry, worked by hand"
THREADS = "Threads, 2019-03-22"
DRESSMAKER = "The Dressmaker, c. 1911-16"

LENGTH = "tests/geometry/test_trade_values.py"
WIDTH = "tests/geometry/test_trade_values_width.py"
NECK = "tests/geometry/test_trade_values_neck_and_shoulder.py"
BUST = "tests/geometry/test_trade_values_bust.py"
SLEEVE = "tests/geometry/test_trade_values_sleeve.py"
LIST = "tests/geometry/test_trade_values_list.py"
SIZES = "tests/geometry/test_trade_values_sizes.py"
TRUING = "tests/geometry/test_trade_values_truing.py"
BANDS = "tests/geometry/test_trade_values_bands.py"


@dataclass(frozen=True)
class Item:
    """One item of the list. ``use`` names the case that is drawn; ``test`` is a function of the test file ``file``."""

    region: str
    words: str
    use: str
    file: str
    test: str
    source: str

    @property
    def case(self) -> Case:
        return next(case for case in CASES if case.name == self.use)

    @property
    def alteration(self) -> str:
        return self.case.alteration


def _items(region: str, *rows: tuple[str, str, str, str, str]) -> tuple[Item, ...]:
    return tuple(Item(region, *row) for row in rows)


ITEMS = (
    *_items(
        "size",
        (
            "one size at the bust, another at the hip",
            "size 14 at the bust and 18 at the hip",
            SIZES,
            "test_half_widths_are_those_of_the_sizes_named",
            "published envelope table, misses",
        ),
        (
            "a size at every level",
            "size 12 at the bust, 16 at the hip, 14 at the hem",
            SIZES,
            "test_every_pair_of_sizes_keeps_its_widths_and_its_seams",
            "published envelope table, misses",
        ),
    ),
    *_items(
        "length",
        (
            "shorten at any line",
            "shorten a bodice",
            LENGTH,
            "test_two_crosses_100_mm_apart_across_the_line_end_74_6_mm_apart",
            ROBINSON,
        ),
        ("lengthen at any line", "lengthen a bodice", LENGTH, "test_the_jog_of_a_leaning_edge", GEOMETRY),
        (
            "hem raised",
            "raise the hem of a leaning panel",
            WIDTH,
            "test_raising_the_hem_of_a_shaped_piece_loses_flare_and_the_line_keeps_it",
            ROBINSON,
        ),
        (
            "hem lowered",
            "lower two hems",
            LIST,
            "test_a_lowered_hem_runs_the_side_on_and_gains_flare",
            f"{ROBINSON}; {GEOMETRY}",
        ),
        (
            "hem curved",
            "curve the hem of a leaning panel",
            WIDTH,
            "test_a_curved_hem_is_square_at_the_fold_and_as_high_as_asked",
            PRACTICE,
        ),
        (
            "hem levelled",
            "level a curved hem",
            WIDTH,
            "test_a_hem_that_was_raised_at_the_side_is_levelled_to_what_it_was",
            GEOMETRY,
        ),
        (
            "high at the side and low at the back",
            "high at the side and low at the back",
            WIDTH,
            "test_a_hem_high_at_the_side_and_low_at_the_back_offers_the_front_its_side",
            DRESSMAKER,
        ),
    ),
    *_items(
        "width",
        (
            "take in a seam at several levels",
            "take in two sides at waist and hem",
            WIDTH,
            "test_one_inch_over_four_edges_is_6_35_mm_each_and_a_fold_is_no_seam_edge",
            ROBINSON,
        ),
        (
            "let out a seam at several levels, to nothing where asked",
            "let out two sides at every level",
            WIDTH,
            "test_the_seam_runs_to_nothing_where_nothing_is_asked_and_the_amounts_hold_at_the_levels",
            PRACTICE,
        ),
        (
            "hip curve",
            "a rounder hip curve",
            WIDTH,
            "test_the_hip_curve_changes_halfway_and_nowhere_else",
            PRACTICE,
        ),
        (
            "slash and spread, parallel",
            "spread a panel all along",
            WIDTH,
            "test_a_parallel_slash_adds_its_amount_at_both_ends",
            GEOMETRY,
        ),
        (
            "slash and spread to a hinge at either end",
            "spread a skirt from the hem to the waist",
            WIDTH,
            "test_a_slash_to_a_hinge_turns_the_paper_by_its_angle_and_leaves_the_hinged_edge_as_long",
            f"{ROBINSON}; {GEOMETRY}",
        ),
        (
            "overlap along a line drawn across",
            "overlap a sleeve all along, square to the grain",
            LIST,
            "test_an_overlap_takes_its_amount_out_all_along_the_line",
            GEOMETRY,
        ),
        (
            "add flare",
            "add flare to a skirt",
            WIDTH,
            "test_flare_opens_the_hem_by_its_amount_and_keeps_waist_and_fold",
            ROBINSON,
        ),
        (
            "remove flare",
            "remove flare from a leaning panel",
            LIST,
            "test_flare_taken_out_turns_the_side_back_by_its_angle",
            GEOMETRY,
        ),
    ),
    *_items(
        "armhole",
        (
            "raise the underarm",
            "raise two underarms",
            LIST,
            "test_a_raised_underarm_lengthens_both_sides_by_the_same",
            PRACTICE,
        ),
        (
            "lower the underarm",
            "lower two underarms",
            NECK,
            "test_a_lowered_underarm_shortens_both_sides_by_the_same_and_leaves_the_upper_armhole",
            PRACTICE,
        ),
        (
            "parallel tuck",
            "tuck two armholes",
            LENGTH,
            "test_a_parallel_tuck_shortens_the_centre_and_keeps_every_width",
            GEOMETRY,
        ),
        (
            "gaping pinched out and turned into a dart",
            "pinch a gaping armhole into the dart",
            LENGTH,
            "test_a_pinch_at_the_armhole_opens_the_dart_by_the_same_angle",
            GEOMETRY,
        ),
        (
            "gaping pinched out and run out at another edge",
            "pinch a gaping armhole out at the hem",
            LIST,
            "test_a_pinch_run_out_at_another_edge_turns_the_paper_about_the_hinge_there",
            GEOMETRY,
        ),
        (
            "armhole cut in or filled out",
            "cut two armholes in",
            NECK,
            "test_an_armhole_cut_in_or_filled_out_keeps_its_corners_and_their_directions",
            PRACTICE,
        ),
    ),
    *_items(
        "neckline",
        (
            "raise the neckline",
            "raise two necklines",
            NECK,
            "test_a_band_is_recut_by_the_share_at_which_it_is_stretched_on",
            GEOMETRY,
        ),
        (
            "lower the neckline",
            "lower a neckline",
            NECK,
            "test_a_lowered_neckline_keeps_its_shape_and_stays_square_to_the_centre",
            GEOMETRY,
        ),
        (
            "widen the neckline",
            "widen a neckline",
            NECK,
            "test_a_widened_neckline_shortens_both_shoulders_by_the_same_and_leaves_the_centre",
            PRACTICE,
        ),
        (
            "narrow the neckline",
            "narrow a neckline",
            LIST,
            "test_a_narrowed_neckline_lengthens_both_shoulders_by_the_same",
            PRACTICE,
        ),
        (
            "gaping taken out from the neck to the hem",
            "pinch a gaping neckline out at the hem",
            NECK,
            "test_a_neckline_pinched_to_the_hem_narrows_the_bust_by_similar_triangles",
            f"{THREADS}; {GEOMETRY}",
        ),
        (
            "gaping taken out from the neck to mid-armhole",
            "pinch a gaping neckline out at mid-armhole",
            NECK,
            "test_a_neckline_pinched_to_mid_armhole_keeps_the_armholes_length",
            THREADS,
        ),
        (
            "gaping turned from the neck into the bust dart",
            "pinch a gaping neckline into the dart",
            NECK,
            "test_a_neckline_pinched_into_the_bust_dart_opens_it_by_the_same_angle",
            GEOMETRY,
        ),
        (
            "facing follows",
            "lower the neckline of a facing",
            NECK,
            "test_a_facing_keeps_its_width_when_its_neckline_is_lowered",
            DRESSMAKER,
        ),
    ),
    *_items(
        "shoulder",
        (
            "square shoulder",
            "square two shoulders",
            NECK,
            "test_a_square_or_sloping_shoulder_keeps_the_shape_of_the_armhole",
            PRACTICE,
        ),
        (
            "sloping shoulder",
            "slope two shoulders",
            NECK,
            "test_a_square_or_sloping_shoulder_keeps_the_shape_of_the_armhole",
            PRACTICE,
        ),
        (
            "narrow shoulder",
            "narrow two shoulders",
            NECK,
            "test_a_narrow_or_broad_shoulder_keeps_the_armholes_length_and_is_ruled_straight",
            PRACTICE,
        ),
        (
            "broad shoulder",
            "broaden two shoulders",
            NECK,
            "test_a_narrow_or_broad_shoulder_keeps_the_armholes_length_and_is_ruled_straight",
            PRACTICE,
        ),
        (
            "forward shoulder",
            "a forward shoulder",
            NECK,
            "test_a_forward_shoulder_takes_off_the_front_what_it_adds_to_the_back",
            PRACTICE,
        ),
    ),
    *_items(
        "bust and chest",
        (
            "full bust into a dart",
            "full bust into the bust dart",
            BUST,
            "test_the_three_slashes_of_a_full_bust",
            GEOMETRY,
        ),
        (
            "full bust, dartless",
            "full bust eased in at the side",
            BUST,
            "test_a_full_bust_without_a_dart_is_eased_into_the_back_and_the_seam_still_walks",
            PRACTICE,
        ),
        (
            "small bust",
            "small bust that leaves a smaller dart",
            LIST,
            "test_a_small_bust_closes_the_dart_by_the_angle_of_its_slashes",
            GEOMETRY,
        ),
        (
            "bust point raised",
            "bust point raised",
            BUST,
            "test_a_bust_point_is_moved_and_its_dart_keeps_mouth_and_equal_legs",
            PRACTICE,
        ),
        (
            "bust point lowered",
            "bust point lowered",
            BUST,
            "test_a_bust_point_is_moved_and_its_dart_keeps_mouth_and_equal_legs",
            PRACTICE,
        ),
        (
            "bust point moved to the side or the centre",
            "bust point moved to the side",
            BUST,
            "test_a_bust_point_is_moved_and_its_dart_keeps_mouth_and_equal_legs",
            PRACTICE,
        ),
        (
            "dart made",
            "dart made on a shoulder",
            BUST,
            "test_a_dart_made_has_equal_legs_and_takes_its_mouth_out_of_the_edge",
            GEOMETRY,
        ),
        (
            "dart closed and turned to any edge",
            "dart turned to the shoulder",
            BUST,
            "test_a_turned_dart_keeps_its_angle_and_its_mouth_follows_from_where_it_opens",
            "Erwin, Practical Dress Design, rev. 1954; geometry",
        ),
        (
            "dart split into two",
            "dart split in two",
            BUST,
            "test_a_dart_split_in_two_shares_its_angle_about_one_bust_point",
            GEOMETRY,
        ),
        (
            "dart changed to ease",
            "dart eased in",
            BUST,
            "test_a_dart_left_unsewn_makes_the_seam_longer_by_its_mouth_and_the_seam_allows_it",
            PRACTICE,
        ),
        (
            "dart changed to gathers",
            "a third of a dart gathered in",
            BUST,
            "test_a_dart_left_unsewn_makes_the_seam_longer_by_its_mouth_and_the_seam_allows_it",
            PRACTICE,
        ),
        (
            "dart lengthened or shortened",
            "dart sewn shorter",
            BUST,
            "test_a_dart_sewn_25_mm_shorter_closes_a_wider_angle",
            GEOMETRY,
        ),
        (
            "hollow chest",
            "hollow chest",
            BUST,
            "test_a_wedge_at_the_chest_keeps_the_armhole_and_a_straight_centre_front",
            PRACTICE,
        ),
        (
            "pigeon chest",
            "pigeon chest",
            BUST,
            "test_a_wedge_at_the_chest_keeps_the_armhole_and_a_straight_centre_front",
            PRACTICE,
        ),
    ),
    *_items(
        "back",
        (
            "swayback",
            "swayback at the waist",
            BUST,
            "test_a_swayback_tuck_turns_the_upper_back_and_swings_the_centre_back",
            f"{PRACTICE}; {GEOMETRY}",
        ),
        (
            "broad back",
            "broad back with a shoulder dart, to nothing at the hem",
            BUST,
            "test_a_broad_back_leaves_the_front_and_eases_or_darts_the_shoulder",
            "Every Woman's Encyclopaedia vol. 4, c. 1911",
        ),
        (
            "broad back, the other way",
            "broad back shared with the front",
            BUST,
            "test_a_broad_back_shared_with_the_front_armhole_leaves_the_shoulders_equal",
            "The New Dressmaker, 1921, ch. 4",
        ),
        (
            "narrow back",
            "narrow back eased at the shoulder",
            LIST,
            "test_a_narrow_back_is_as_much_narrower_from_shoulder_to_hem",
            PRACTICE,
        ),
        (
            "round upper back",
            "round upper back",
            BUST,
            "test_a_round_upper_back_lengthens_the_centre_back_and_says_what_the_neckline_gains",
            GEOMETRY,
        ),
        (
            "erect back",
            "erect back",
            LIST,
            "test_an_erect_back_shortens_the_centre_and_turns_the_upper_back_by_its_wedge",
            GEOMETRY,
        ),
    ),
    *_items(
        "sleeve",
        (
            "upper arm larger",
            "a larger upper arm",
            SLEEVE,
            "test_a_larger_or_smaller_upper_arm_keeps_the_cap_seam",
            f"{PRACTICE}; {GEOMETRY}",
        ),
        (
            "upper arm smaller",
            "a smaller upper arm",
            SLEEVE,
            "test_a_larger_or_smaller_upper_arm_keeps_the_cap_seam",
            f"{PRACTICE}; {GEOMETRY}",
        ),
        (
            "cap height",
            "a higher cap",
            SLEEVE,
            "test_a_cap_keeps_its_shape_when_its_height_changes",
            GEOMETRY,
        ),
        (
            "elbow and wrist",
            "a wider elbow and wrist",
            SLEEVE,
            "test_a_wrist_changes_by_half_on_each_underarm_seam_and_both_seams_still_match",
            ROBINSON,
        ),
        (
            "cap follows a change of the armhole",
            "tuck a cap",
            LENGTH,
            "test_a_tuck_takes_more_off_a_leaning_cap_than_off_an_upright_armhole",
            GEOMETRY,
        ),
    ),
    *_items(
        "waist and seat",
        (
            "waist",
            "a larger waist",
            WIDTH,
            "test_a_larger_waist_is_shared_and_the_band_offered_with_it",
            ROBINSON,
        ),
        (
            "hip",
            "a larger hip, to nothing at the hem",
            WIDTH,
            "test_hip_the_full_amount_to_the_hem_and_nothing_at_the_waist",
            PRACTICE,
        ),
        ("full seat", "a full seat", WIDTH, "test_a_full_seat_lengthens_the_centre_and_not_the_side", ROBINSON),
        (
            "flat seat",
            "a flat seat in a skirt",
            LIST,
            "test_a_flat_seat_turns_the_upper_back_by_its_wedge_and_keeps_the_side",
            GEOMETRY,
        ),
        (
            "crotch depth",
            "a deeper crotch",
            WIDTH,
            "test_a_deeper_crotch_lengthens_side_and_centre_by_its_amount",
            ROBINSON,
        ),
        (
            "crotch length",
            "a longer crotch",
            WIDTH,
            "test_a_crotch_point_moved_out_makes_the_leg_wider_there_and_the_knee_not",
            PRACTICE,
        ),
        ("thigh", "a wider thigh", WIDTH, "test_a_wider_thigh_leaves_knee_hip_and_hem", PRACTICE),
        (
            "leg width",
            "a wider leg",
            WIDTH,
            "test_a_leg_wider_by_one_inch_has_6_35_mm_on_each_of_four_edges",
            ROBINSON,
        ),
    ),
    *_items(
        "band",
        (
            "band recut to its edge",
            "recut a band longer",
            BANDS,
            "test_a_band_is_its_edge_times_the_ratio_and_its_notches_meet",
            f"{DRESSMAKER}; multiplication",
        ),
    ),
    *_items(
        "seams",
        (
            "a seam sewn at another width, the cut edge kept",
            "sew the sides at 10 mm",
            LENGTH,
            "test_sewing_a_seam_nearer_the_cut_edge_moves_the_stitching_line_and_leaves_the_cut_edge",
            GEOMETRY,
        ),
        (
            "another allowance, the stitching line kept",
            "cut the sides with 25 mm",
            LENGTH,
            "test_an_allowance_width_moves_the_cutting_line_and_leaves_the_stitching_line",
            GEOMETRY,
        ),
    ),
    *_items(
        "free hand",
        (
            "move a corner",
            "move the corner of hem and side",
            SLEEVE,
            "test_a_moved_corner_of_two_straight_edges",
            GEOMETRY,
        ),
        (
            "reshape an edge with a batten",
            "reshape a neckline",
            SLEEVE,
            "test_a_straight_edge_is_reshaped_as_a_batten_lies",
            GEOMETRY,
        ),
    ),
    *_items(
        "truing",
        (
            "a seam trued to its mate",
            "true a side seam at the hem",
            TRUING,
            "test_a_seam_is_trued_by_its_amount_and_the_hem_keeps_both_its_corners",
            GEOMETRY,
        ),
        (
            "a pointed corner rounded off",
            "round an underarm corner off",
            TRUING,
            "test_a_point_is_rounded_off_to_180_degrees_by_what_the_tangent_says",
            "Conover, A Complete Course in Dressmaking, 1921-22",
        ),
        (
            "a scooped corner filled in, square at a fold",
            "fill a neckline in at the fold",
            TRUING,
            "test_a_hem_that_meets_the_fold_at_87_degrees_is_made_square",
            GEOMETRY,
        ),
        (
            "a notch moved to where its mate meets it",
            "move a waist notch",
            TRUING,
            "test_a_notch_moves_by_its_amount_and_nothing_else_does",
            GEOMETRY,
        ),
        (
            "the legs of a dart made equal",
            "make the shorter leg of a dart longer",
            TRUING,
            "test_the_shorter_leg_of_a_dart_is_made_as_long_as_the_other",
            GEOMETRY,
        ),
    ),
)

"""What every rule of the house keeps to."""

from __future__ import annotations

import re

import pytest
from jsonschema import Draft202012Validator

from delivery.meters import figures
from delivery.model.finding import Weight
from delivery.rules import Rule, Scope, rules
from delivery.schema import spec_schema
from tests.rules.case_files import cases_of

TOGETHER = {"programmes", "unlike_neighbours", "joins", "likenesses", "stem_sums"}
OTHER_FACTS = {
    Scope.TRACK: {"track", "release", "name", "tags_read", "kinds_kept"},
    Scope.RELEASE: {"release", "approval", "tracks", "artwork", "album", "album_integrated_lufs", *TOGETHER},
}
ALL = pytest.mark.parametrize("rule", rules().values(), ids=list(rules()))
REQUIRED = """
container coding rate_hz bits channels extensible_header size_max_bytes
sample_peak_max_dbfs true_peak_max_dbtp clip_runs_max dc_offset_max_percent
integrated_lufs loudness_range_max_lu momentary_max_lufs short_term_max_lufs
lead_in_s tail_s duration_s inner_silence_max_s no_audible_cut
finite_samples effective_bits_min not_upsampled live_channels not_inverted true_stereo low_band_correlation_min
track_fields release_fields isrc_form isrc_prefix_known isrc_unique check_digits upc_check_digit title_unique
artwork_min_px artwork_max_px artwork_square artwork_kind artwork_mode artwork_max_bytes
name_max_bytes name_ascii
one_rate one_depth no_duplicate_audio total_duration_max_s album_integrated_lufs
part_length_max part_length_good part_tracks_max gaps_stated sides_stated joins_of_one_form joins_run_on
side_difference_max_s index_points_inside emphasis_changes_in_pauses cd_text_latin no_near_duplicate
sibilant_spots_max low_band_phase
riff_form rms_dbfs noise_floor_max_dbfs loop_points time_reference equal_lengths equal_time_references
stem_residual_max_db adm_structure
tags_as_label_copy approved
click_places_max jump_places_max discontinuity_places_max dropout_places_max zero_run_places_max hum_places_max
"""
"""Keys are for ever: spec files on other people's disks use them."""


def test_keys_that_were_ever_promised_are_answered() -> None:
    assert set(REQUIRED.split()) <= set(rules())


@ALL
def test_names_are_plain(rule: Rule) -> None:
    assert rule.id == rule.id or re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.id)  # new rules: one id everywhere
    assert re.fullmatch(r"[a-z]+(_[a-z]+)*", rule.id)


@ALL
def test_facts_it_needs_are_given_by_a_meter_or_the_pipeline(rule: Rule) -> None:
    known = set(figures()) | OTHER_FACTS[rule.scope] if rule.scope is Scope.TRACK else OTHER_FACTS[rule.scope]
    assert set(rule.needs) <= known
    assert not rule.at or rule.at in figures()
    assert rule.needs


@ALL
def test_mail_is_plain_text(rule: Rule) -> None:
    assert rule.doc.endswith(".")
    assert rule.source
    assert "{limit}" in rule.sentence or rule.limit.get("const") is True
    assert not rule.sentence.endswith(".")


@ALL
def test_sign_is_named_where_a_detector_can_be_wrong(rule: Rule) -> None:
    """Weights are decided by people; this is the list they decided on."""
    signs = {
        "not_upsampled",
        "not_lossy_sourced",
        "no_early_band_edge",
        "not_scaled",
        "not_truncated",
        "low_band_correlation_min",
        "low_band_phase",
        "balance_max_db",
        "no_side_inverted",
        "not_nearly_mono",
        "channel_delay_max",
        "mono_loss_octave_max_db",
        "sibilant_spots_max",
        "click_places_max",
        "discontinuity_places_max",
        "jump_places_max",
        "dropout_places_max",
        "zero_run_places_max",
        "hum_places_max",
        "dithered_clip_runs_max",
        "joins_run_on",
        "no_near_duplicate",
        "title_style",
        "artwork_not_enlarged",
        "artwork_no_border",
        "release_title_style",
        "isrc_prefix_known",
        "legal_names",
    }
    assert (rule.weight is not Weight.FACT) == (rule.id in signs)


@ALL
def test_limits_of_its_cases_obey_its_schema(rule: Rule) -> None:
    whole = spec_schema()
    validator = Draft202012Validator({"$defs": whole["$defs"], "$ref": f"#/$defs/{rule.id}"})
    limits = [case["limit"] for cases in cases_of(rule.id).values() for case in cases]
    assert len(limits) >= 3
    for limit in limits:
        validator.validate(limit)
    for nonsense in ("much", None, [], {}, {"at_least": "0"}, {"at_least": 0, "at_mots": 1}):
        assert not validator.is_valid(nonsense)

"""What people call the figures: 'Loudness', 'True peak'. Their ids are for specs, scripts and the JSON document.

A figure without a row here is called by its id in words, so that a new meter needs nothing but its own file.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

NAMES: Mapping[str, str] = MappingProxyType(
    {
        # file
        "adm_chunks": "ADM chunks",
        "adm_faults": "ADM faults",
        "bits": "Bit depth",
        "broadcast_chunk": "Broadcast chunk (bext)",
        "coding": "Coding",
        "decoded_by": "Decoded by",
        "duration_s": "Length",
        "extensible": "Extensible header",
        "frames": "Samples per channel",
        "loops": "Loop points",
        "rate_hz": "Sample rate",
        "riff_form": "RIFF form",
        "size_bytes": "File size",
        "speakers": "Loudspeakers",
        "time_reference_s": "Time reference",
        # loudness
        "integrated_lufs": "Loudness",
        "dual_mono_integrated_lufs": "Loudness as dual mono",
        "short_term_max_lufs": "Loudest 3 s",
        "short_term_max_at_s": "Loudest 3 s at",
        "short_term_curve_lufs": "Loudness over time",
        "momentary_max_lufs": "Loudest 0.4 s",
        "momentary_max_at_s": "Loudest 0.4 s at",
        "loudness_range_lu": "Loudness range",
        "psr_low_db": "PSR, 5th percentile",
        "psr_min_db": "PSR, lowest",
        "psr_min_at_s": "PSR, lowest at",
        "r128_s1": "EBU R 128 s1",
        "r128_s2": "EBU R 128 s2",
        # peaks
        "true_peak_dbtp": "True peak",
        "true_peak_at_s": "True peak at",
        "true_peaks_dbtp": "True peak, each channel",
        "sample_peak_dbfs": "Sample peak",
        "sample_peaks_dbfs": "Sample peak, each channel",
        "samples_above_count": "Samples above a level",
        "peak_curve_dbtp": "True peak over time",
        "plr_db": "Peak to loudness",
        "crest_factor_db": "Crest factor",
        "crest_curve_db": "Crest factor over time",
        "rms_dbfs": "RMS, each channel",
        "rms_curve_dbfs": "RMS over time",
        "rms_percentiles_dbfs": "RMS, percentiles",
        "programme_rms_dbfs": "RMS of the whole",
        "programme_rms_aes17_dbfs": "RMS of the whole, AES17",
        "highest_places": "Highest true peaks",
        "overs": "Overs above 0 dBTP, each",
        "overs_count": "Overs above 0 dBTP",
        "places_above_ceilings": "Places above a ceiling",
        "time_above_ceilings_s": "Time above a ceiling",
        "clip_run_count": "Clipped runs",
        "clip_run_longest": "Clipped runs, longest",
        "clip_runs_at_s": "Clipped runs at",
        "dithered_clip_run_count": "Clipped runs under dither",
        "dithered_clip_run_longest": "Clipped runs under dither, longest",
        "dithered_clip_runs_at_s": "Clipped runs under dither at",
        "dithered_clip_ceilings": "Ceilings of these runs",
        # stereo
        "balance_db": "Channel balance",
        "channel_delay_frames": "Channel delay",
        "channel_residual_db": "Difference of the channels",
        "correlation": "Correlation",
        "correlation_min": "Correlation, lowest",
        "correlation_curve": "Correlation over time",
        "cutting_reference_dbfs": "Cutting reference",
        "dead_channels": "Silent channels",
        "inverted_channels": "Inverted channels",
        "lateral_acceleration_peak_g": "Lateral acceleration, peak",
        "lateral_acceleration_peak_at_s": "Lateral acceleration, peak at",
        "lateral_velocity_peak_cm_s": "Lateral velocity, peak",
        "lateral_velocity_peak_at_s": "Lateral velocity, peak at",
        "vertical_acceleration_peak_g": "Vertical acceleration, peak",
        "vertical_acceleration_peak_at_s": "Vertical acceleration, peak at",
        "vertical_velocity_peak_cm_s": "Vertical velocity, peak",
        "vertical_velocity_peak_at_s": "Vertical velocity, peak at",
        "low_band_at_s": "Low band, lowest at",
        "low_band_below_zero_s": "Low band, time below 0",
        "low_band_correlation_min": "Low band, lowest correlation",
        "low_band_correlations_min": "Low band, lowest correlations",
        "mono_loss_db": "Mono fold-down",
        "mono_loss_octaves_db": "Mono fold-down, octaves",
        "out_of_phase_s": "Time out of phase, octaves",
        "side_max_dbfs": "Side signal, peak, octaves",
        "side_max_starts_s": "Side signal, peak at, octaves",
        "side_mid_below_150_db": "Side to mid below 150 Hz",
        "side_mid_below_300_db": "Side to mid below 300 Hz",
        # spectrum
        "band_edge_hz": "Upper band edge",
        "dc_offset_percent": "DC offset",
        "dc_offsets_percent": "DC offset, each channel",
        "dc_offset_1s_percent": "DC offset, worst second",
        "dc_offset_1s_at_s": "DC offset, worst second at",
        "spectral_tilt_db": "Spectral tilt",
        "spectrum_level_dbfs": "Spectrum, level of the whole",
        "third_octave_db": "Third octaves",
        "third_octave_99_db": "Third octaves, loudest 1 %",
        "third_octave_re_loudness_db": "Third octaves re loudness",
        "treble_peak_dbfs": "Treble peak",
        # edges
        "ends_cut": "End is cut",
        "starts_cut": "Start is cut",
        "fade_unfinished": "Fade unfinished",
        "first_sample_percent": "First sample",
        "last_sample_percent": "Last sample",
        "last_10_ms_dbfs": "Last 10 ms",
        "last_50_ms_dbfs": "Last 50 ms",
        "lead_in_s": "Silence before",
        "lead_in_dbfs": "Level before the start",
        "tail_s": "Silence after",
        "tail_dbfs": "Level after the end",
        "zero_head_s": "Digital silence before",
        "zero_tail_s": "Digital silence after",
        "inner_silence_count": "Pauses",
        "inner_silence_longest_s": "Pauses, longest",
        "inner_silence_at_s": "Pauses, longest at",
        "inner_silences": "Pauses, each",
        "noise_floor_dbfs": "Noise floor",
        "noise_floor_at_s": "Noise floor at",
        "noise_floor_a_weighted_dbfs": "Noise floor, A-weighted",
        "noise_floor_468_weighted_dbfs": "Noise floor, ITU-R 468",
        "quietest_dbfs": "Quietest half second",
        "quietest_at_s": "Quietest half second at",
        # processing history
        "common_step": "Common step of samples",
        "early_edge_hz": "Early band edge",
        "effective_bits": "Bits in use",
        "float_overs": "Samples above full scale",
        "lossy_coder": "Lossy coder before",
        "lossy_coder_decades": "Lossy coder, odds",
        "lossy_coder_rate_hz": "Lossy coder, rate",
        "nonfinite_samples": "Samples that are no number",
        "pre_emphasis_suspected": "Pre-emphasis suspected",
        "undithered_percent": "Passages without dither",
        "upsampled_from_hz": "Converted up from",
        # places to listen to
        "click_places": "Clicks",
        "dip_places": "Dips",
        "discontinuity_places": "Discontinuities",
        "discontinuity_places_kinds": "Discontinuities, kinds",
        "dropout_places": "Dropouts",
        "edged_gap_places": "Gaps with hard edges",
        "held_value_places": "Held values",
        "hum_dbfs": "Hum, level",
        "hum_hz": "Hum, frequency",
        "hum_places": "Hum",
        "hum_throughout": "Hum under music too",
        "jump_places": "Jumps",
        "repeated_buffer_places": "Repeated buffers",
        "sibilant_spots": "Sibilance events",
        "zero_run_places": "Runs of zeros",
    }
)
"""Id of a figure -> its name. The unit is printed with the value."""
OF_PLACES: Mapping[str, str] = MappingProxyType(
    {
        "_outstanding_at_s": ", outstanding at",
        "_outstanding": ", outstanding",
        "_ranked": " by strength",
        "_many": ", style likely",
        "_at_s": " at",
    }
)
"""Suffix of a figure about one kind of place -> what is added to the name of the kind."""
ERROR = "_se_db"


def figure_name(figure: str) -> str:
    """The name of the figure with the id *figure*."""
    if figure in NAMES:
        return NAMES[figure]
    for suffix, added in OF_PLACES.items():
        if (kind := figure.removesuffix(suffix)) != figure and kind in NAMES:
            return f"{NAMES[kind]}{added}"
    if (stem := figure.removesuffix(ERROR)) != figure:
        for unit in ("_db", "_dbfs"):
            if stem + unit in NAMES:
                return f"{NAMES[stem + unit]}, standard error"
    return figure.replace("_", " ").capitalize()


def figure_id(named: str, figures: Iterable[str]) -> str:
    """The id of the figure that a person named by its id or by its name; *named* itself if there is none."""
    return next((figure for figure in figures if figure_name(figure).casefold() == named.casefold()), named)

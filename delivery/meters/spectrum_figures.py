"""What the spectrum meter gives: every figure with its unit, digits, definition and source."""

from __future__ import annotations

from delivery.model.answer import Weight
from delivery.model.figure import Figure, Subject

PRACTICE = "common practice, no source"
IEC_61260 = "bands: IEC 61260-1:2014, class 1 from 25 Hz on; average of Hann windows (Welch 1967)"
SIDE_MID = "Power of left less right over that of left plus right from 20 to"
JACKKNIFE = "jackknife over 4 to 64 stretches of time (Künsch 1989)"
ERROR = "Standard error of"

FIGURES = (
    Figure("third_octave_hz", "Hz", None, "Middle of each third-octave band.", IEC_61260),
    Figure(
        "third_octave_db",
        "dB",
        None,
        "Level of each band relative to the sum of all, silence left out; windows of 1.3 s up to 355 Hz.",
        IEC_61260,
        along="third_octave_hz",
        error="third_octave_se_db",
    ),
    Figure(
        "third_octave_se_db",
        "dB",
        None,
        f"{ERROR} each of these levels, as of a longer programme of which the file is a part.",
        JACKKNIFE,
        along="third_octave_hz",
    ),
    Figure(
        "third_octave_99_db",
        "dB",
        None,
        "What 99 of 100 windows stay under in each band, relative to the same sum: windows of 0.13 to 0.19 s, "
        "below 355 Hz of 1.3 s and more.",
        IEC_61260,
        along="third_octave_hz",
        error="third_octave_99_se_db",
    ),
    Figure(
        "third_octave_99_se_db",
        "dB",
        None,
        f"{ERROR} each of these levels and of the sum, as the root of both squares.",
        "jackknife over 4 to 16 groups of windows, 4 s each or longer, in short files 1.5 s (Shao and Wu 1989)",
        along="third_octave_hz",
    ),
    Figure(
        "spectrum_level_dbfs",
        "dBFS",
        1,
        "Level of the sum of all third-octave bands, silence left out, channels added up.",
        IEC_61260,
        error="spectrum_level_se_db",
    ),
    Figure("spectrum_level_se_db", "dB", 1, f"{ERROR} the spectrum's level.", JACKKNIFE),
    Figure("spectral_tilt_se_db", "dB/octave", 2, f"{ERROR} the spectral tilt.", JACKKNIFE),
    Figure(
        "band_edge_hz",
        "Hz",
        0,
        "Where the spectrum ends: it falls by 20 dB or more within 1 kHz and stays down.",
        PRACTICE,
    ),
    Figure(
        "upsampled_from_hz",
        "Hz",
        0,
        "The lower rate whose band this sound fills and leaves, or whose images are above; 0: no evidence. No proof.",
        PRACTICE,
        Subject.HISTORY,
        weight=Weight.STRONG_SIGN,
    ),
    Figure(
        "early_edge_hz",
        "Hz",
        0,
        "A steep end of the band from 15 to 20.6 kHz, as coders, filters and samplers make it; 0: none. A weak sign.",
        PRACTICE,
        Subject.HISTORY,
        weight=Weight.WEAK_SIGN,
    ),
    Figure("octave_hz", "Hz", None, "Centre of each octave band with sound.", IEC_61260, Subject.STEREO),
    Figure(
        "mono_loss_octaves_db",
        "dB",
        None,
        "Level each octave loses in the mono sum: 0 same, 3 unrelated, 120 nothing left.",
        PRACTICE,
        Subject.STEREO,
        along="octave_hz",
        error="mono_loss_octaves_se_db",
    ),
    Figure(
        "mono_loss_octaves_se_db",
        "dB",
        None,
        f"{ERROR} each of these losses.",
        JACKKNIFE,
        Subject.STEREO,
        along="octave_hz",
    ),
    Figure(
        "side_mid_below_150_db",
        "dB",
        1,
        f"{SIDE_MID} 150 Hz; within 120 dB.",
        PRACTICE,
        Subject.STEREO,
        error="side_mid_below_150_se_db",
    ),
    Figure(
        "side_mid_below_300_db",
        "dB",
        1,
        f"{SIDE_MID} 300 Hz; within 120 dB.",
        PRACTICE,
        Subject.STEREO,
        error="side_mid_below_300_se_db",
    ),
    Figure("side_mid_below_150_se_db", "dB", 1, f"{ERROR} side over mid to 150 Hz.", JACKKNIFE, Subject.STEREO),
    Figure("side_mid_below_300_se_db", "dB", 1, f"{ERROR} side over mid to 300 Hz.", JACKKNIFE, Subject.STEREO),
    Figure(
        "channel_delay_frames",
        "frames",
        0,
        "How much later the right channel is, if one delay fits the whole file; 0: no clear delay.",
        PRACTICE,
        Subject.STEREO,
    ),
    Figure(
        "octaves_over_time_step_s",
        "s",
        1,
        "Length of the stretches of time of the next figure: 1.5 s, doubled until there are at most 64.",
        PRACTICE,
        Subject.MATERIAL,
    ),
    Figure(
        "octaves_over_time",
        "",
        None,
        "Of each stretch of time and octave: start in s, middle of the octave in Hz, level of left plus right and "
        "of left less right, each over root 2, so that both add up to the channels; -120 is silence.",
        IEC_61260,
        Subject.MATERIAL,
        columns=("at_s", "hz", "mid_dbfs", "side_dbfs"),
    ),
)

"""Every default in one place, frozen: one class a room, each number with its unit and source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AudioSettings:
    """Reading and conditioning. Levels are decibels below full scale unless they say otherwise."""

    # Reading
    min_take_s: float = 0.05  # three periods of the low E (82.4 Hz) and a little: less has no pitch to speak of
    max_take_s: float = 600.0  # a lick lasts seconds; longer files are cut with --from and --to
    max_rate_hz: int = 48_000  # the range of hearing and more; higher rates are resampled
    cancelled_below_db: float = -10.0  # the channels' average against the strongest one; unrelated channels give -3
    silent_channel_db: float = -40.0  # a channel this far under the strongest one carries nothing

    # Level
    silent_dbfs: float = -60.0  # no sample above it: nothing was played, or the wrong input was open
    quiet_dbfs: float = -30.0  # a peak below it is worth a word: 5 of the 16 bits of a file lie idle
    quiet_raised_to_dbfs: float = -6.0  # where the peak of such a take is brought for the later rooms
    sounding_db: float = -40.0  # a 20 ms stretch within this of the loudest one counts as sounding

    # Clipping: samples in flat tops, as a share of the sounding samples. Measured on plucked tones overdriven by
    # 3, 6 and 12 dB into the converter: tests/transcribe/audio/test_clipping.py
    clipping_full_scale: float = 0.985  # a flat top this close to full scale is the converter's
    clipping_run: int = 3  # equal neighbours that make a flat top; two also happen at the crest of a slow wave
    clipping_remark_share: float = 0.0002
    clipping_refuse_share: float = 0.05  # reached by about +6 dB
    clipping_corner: float = 0.7  # of the samples near the top that are in flat tops: sawn off .75-.97, driven under .55
    clipping_past_share: float = 0.001  # of samples past full scale, which only a lossy or floating-point file has

    # Hum and rumble
    rumble_below_hz: float = 35.0  # almost an octave under the low C of dropped tunings (65.4 Hz)
    rumble_share: float = 0.02  # of the take's power below rumble_below_hz before it is filtered out
    mains_hz: tuple[float, ...] = (50.0, 60.0)  # IEC 60038
    mains_harmonics: int = 12
    mains_line_db: float = 12.0  # a hum line stands this far above its surroundings in the quietest stretches
    mains_audible_db: float = -60.0  # and is no weaker than this against the loudest stretch
    mains_steady_db: float = 6.0  # and changes no more than this between quiet and middling stretches
    offset_share: float = 0.002  # a mean this large, against full scale, is a fault of the input


@dataclass(frozen=True, slots=True)
class EvidenceSettings:
    """Maps and fine pitch."""

    hop_s: float = 0.01  # between frames; the CREPE authors' default
    silence_db: float = -66.0  # frames quieter than this are not shown to the network; dB below full scale
    network_threads: int = 2  # processor cores the network may use

    onset_rate_hz: int = 24000  # pick noise lies below 12 kHz; half of the usual 48 kHz
    onset_window: int = 1024  # samples, 43 ms: two periods of a low E
    onset_hop_s: float = 0.005  # SuperFlux paper: 200 frames a second
    onset_lag_frames: int = 2  # compared with this many frames before
    onset_neighbours: int = 3  # bands; SuperFlux paper
    onset_floor_db: float = -60.0  # spectrum below this counts as silence; dB below full scale
    onset_scale_db: float = 3.0  # mean rise over all bands that reads 0.63
    bands_per_octave: int = 24  # SuperFlux paper
    band_lowest_hz: float = 60.0
    band_highest_hz: float = 10000.0


@dataclass(frozen=True, slots=True)
class NoteSettings:
    """Voices, gestures, attacks, mutes, intonation, doubts.

    "measured" stands for: chosen on random licks played on sampled guitars, with known truth, apart from the fixtures.
    """

    max_voices: int = 1  # strings heard at once; the CREPE map shows one voice
    peak_floor: float = 0.05  # salience below this is no peak; measured
    ridge_gap_s: float = 0.03  # a ridge may miss this long; measured
    ridge_speed_semitones_per_s: float = 90.0  # fastest followed move; a five-fret slide in a tenth of a second is 50
    strand_gap_s: float = 0.05  # shorter holes in one ridge are filled; measured
    voice_threshold: float = 0.2  # salience at which sound and silence weigh the same; measured
    onset_reach_s: float = 0.03  # an onset excuses leaps this near to it; the network looks at 64 ms at a time
    onset_sure: float = 0.5  # onset strength at which a leap costs no more; measured
    entry_cost: float = 1.5  # starting from silence with no onset, in frames of full salience; measured
    leap_cost: float = 1.0  # leaping a semitone or more with no onset; measured
    octave_cost: float = 3.0  # more, where the leap is by an octave, twelfth or two octaves; measured
    least_change_cost: float = 0.1  # any change of ridge; measured
    strike_floor: float = 0.1  # onset strength below this is no pick; measured
    strike_apart_s: float = 0.025  # of two peaks nearer than this the stronger counts


@dataclass(frozen=True, slots=True)
class RhythmSettings:
    """Tempo, grid and written values. Where no source is named the number is our own, tried on licks of known rhythm."""

    slowest_bpm: float = 50.0  # beats a minute; common practice
    fastest_bpm: float = 200.0
    middle_bpm: float = 100.0  # the tempo preferred when two fit alike; also assumed when nothing tells
    tempo_spread_octaves: float = 0.6  # how mild that preference is: one standard deviation
    jitter_s: float = 0.015  # how far a steady player's picked notes stray; one standard deviation
    legato_jitter_s: float = 0.025  # the same for notes the fretting hand starts
    legato_weight: float = 0.5  # how much a hammered, pulled or slid note tells about the beat; picked is 1
    together_s: float = 0.03  # picked notes closer than this start together
    drift_a_quarter: float = 0.004  # share by which the tempo may wander from one quarter to the next
    tempo_error: float = 0.01  # share by which a first guess of the tempo may be off
    candidates: int = 8  # tempos tried in full
    beam: int = 24  # readings kept alive while following the notes
    triplet_cost: float = 2.2  # nats charged to a beat of three where its neighbours are not
    shortest_rest_s: float = 0.2  # silences shorter than this belong to the note before
    rest_share: float = 0.34  # and so do those below this share of the way to the next note
    doubt_nats: float = 4.0  # readings closer than this are both named
    stray_s: float = 0.06  # a note this far from where it is written is doubted


@dataclass(frozen=True, slots=True)
class Settings:
    """All rooms' defaults together."""

    audio: AudioSettings = AudioSettings()
    evidence: EvidenceSettings = EvidenceSettings()
    notes: NoteSettings = NoteSettings()
    rhythm: RhythmSettings = RhythmSettings()

"""Every default in one place, frozen: one class a room, each number with its unit and source."""

from __future__ import annotations

from dataclasses import dataclass

from transcribe.errors import SettingsError


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
    clipping_corner: float = (
        0.7  # of the samples near the top that are in flat tops: sawn off .75-.97, driven under .55
    )
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
    network_threads: int = 2  # of each network; another works beside them

    pitch_rate_hz: int = 16000  # partials above 7 kHz tell little about the pitch
    pitch_partials: int = 12
    pitch_periods: int = 4  # shortest window, in periods: three part neighbouring partials, four resist noise better
    pitch_window_s: float = 0.03  # shortest window in seconds
    mixed_window_s: float = 0.08  # shortest window where other strings sound: parts partials 25 Hz from each other
    mixed_least_partials: int = 2  # free of the others' for a pitch to be told
    pitch_harmonic_share: float = 0.25  # below this share of the sound in the partials no pitch is told
    pitch_spread_cents: float = 20.0  # above this disagreement between partials no pitch is told
    stretch_usual: float = 4e-5  # plain strings .010 to .017 calculate to 1.3e-5 to 1.1e-4 (Fletcher's formula)
    stretch_smooth_s: float = 0.2  # the stretch is one for a note; frames this near share theirs

    steady_cents_per_s: float = 60.0  # pitch moving this fast counts half when the tuning is judged
    steady_most_s: float = 0.5  # one held note counts for no more than this
    steady_least_s: float = 0.1  # with less steady pitch than this nothing is said about the tuning

    onset_rate_hz: int = 24000  # pick noise lies below 12 kHz; half of the usual 48 kHz
    onset_long_window: int = 1024  # samples, 43 ms: parts the low partials
    onset_short_window: int = 512  # samples, 21 ms: keeps the moment sharp
    onset_split_hz: float = 1000.0  # the short window looks above, the long one below
    onset_hop_s: float = 0.005  # SuperFlux paper: 200 frames a second
    onset_lag_frames: int = 2  # compared with this many frames before
    onset_neighbours: int = 5  # bands, so two either side; the paper's 3 heard slides from fret to fret as picks
    onset_floor_db: float = -60.0  # spectrum below this counts as silence; dB below full scale
    onset_scale_db: float = 3.0  # mean rise over all bands that reads 0.63
    bands_per_octave: int = 24  # SuperFlux paper
    band_lowest_hz: float = 60.0
    band_highest_hz: float = 10000.0

    def __post_init__(self) -> None:
        if self.network_threads < 1:
            raise SettingsError(f"no network runs on {self.network_threads} threads", "give network_threads 1 or more")


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
    strike_apart_s: float = 0.04  # of two peaks nearer than this the stronger counts
    strike_before_s: float = 0.1  # a strand may show this long after the strike that began it; driven sounds, measured
    strike_after_s: float = 0.045  # or this long before: half of the network's 64 ms look, and a little
    pick_sure: float = 0.3  # likelihood above which a strike is a pick; measured
    pick_same_pitch: float = 0.4  # the same where the pitch goes on unchanged; measured
    pick_least_strength: float = 0.24  # and the onset at least this strong; beating swells to 0.2, real leads
    repick_least_s: float = 0.075  # no hand picks one string faster; sixteenths at 200 bpm
    file_start_s: float = 0.02  # sound that is there so soon was cut, not struck
    link_gap_s: float = 0.1  # a strand that begins this soon after another, with no pick, goes on from it
    link_semitones: float = 8.0  # and no farther away than this: wider than any hammer-on or pull-off
    contact_before_s: float = 0.12  # a pick or finger touches the string this long before the pick at most; real leads
    contact_drop_db: float = 3.0  # and the string is quieter by this much until the pick
    edge_s: float = 0.03  # pitch this near to a strike still mixes with the note before; half of 64 ms
    shortest_note_s: float = 0.045  # shorter stretches are no notes; a 32nd note at 150 bpm is 0.05
    vibrato_slowest_hz: float = 3.0  # rate of a hand's vibrato; common practice
    vibrato_fastest_hz: float = 9.0
    vibrato_least_cents: float = 9.0  # swing from turn to turn below this is unsteadiness; measured
    vibrato_widest_cents: float = 95.0  # wider waves are bends and releases
    vibrato_least_half_cycles: int = 3  # turn to turn
    move_least_semitones_per_s: float = 1.3  # slower drifts are not moves: a curl of 50 cents in 0.2 s is 2.5
    move_least_cents: float = 28.0  # smaller journeys are unsteadiness: a curl is 30 to 70 cents
    move_stop_s: float = 0.045  # a stop shorter than this does not break a move
    step_s: float = 0.035  # a faster change is a hammer-on or pull-off: no finger pushes so fast
    hold_s: float = 0.05  # a rest shorter than this has no clear fret
    grid_share: float = 0.6  # share of a move spent on frets above which it is a slide; a glide spends 0.3, stairs 0.9
    widest_bend_semitones: float = 4.6  # four semitones and an error: the practical top (common practice)
    attack_moves_s: float = 0.055  # a pitch that moves only so long after the pick comes from the note before; measured
    attack_leaves_s: float = 0.015  # or so long, when it leaves at once: the window over low notes is long; measured
    attack_settles_s: float = 0.08
    bend_stays_cents: float = 25.0  # a push that is held lower than this was let go at once or never was
    stands_s: float = 0.08  # a bend that stood so long before it waves is measured there
    breath_s: float = 0.05  # a last move as quick as this, with no rest after it, is the note breaking off; measured
    echo_weaker_db: float = 3.0  # an echo is weaker than what it repeats
    octave_sure: float = 1.05  # evidence of the octave below above which it is the note; 3 of 1049 right notes pass
    attack_noise_s: float = 0.065  # a strand this short before another on the same strike is attack noise; measured
    stop_within_s: float = 0.06  # a stopped string falls this fast
    stop_drop_db: float = 5.5  # by at least this much; a ringing string falls by 1 dB in that time
    settle_s: float = 0.04  # the pitch of a picked string settles this long; half of the network's look, and a little
    slide_speed_semitones_per_s: float = 24.0  # a finger that pushes a string is slower; two semitones in 0.1 s are 20
    prebend_least_cents: float = 60.0  # a string picked hard starts sharp by less than this, and settles
    prebend_longest_s: float = 0.9  # a string bent before the pick is let down this soon
    blip_s: float = 0.06  # a leap away and back in this time is no trill; sixteenths at 200 bpm last 0.075
    shift_least_s: float = 0.012  # a slide into the next pick is seen on its way this long; measured
    leftover_db: float = 5.0  # an unstruck sound this much softer than the note before it is that note's room or echo
    leftover_after_s: float = 0.6  # when it begins this soon after it
    bend_least_cents: float = 33.0  # pushes smaller than this are unsteadiness: a curl is 30 to 70 cents
    vibrato_told_cents: float = 8.0  # smaller waves are not called vibrato; about what a trained ear just hears
    palm_db_per_s: float = 22.0  # a palm-muted note falls faster than this; open notes by 7 to 20, fixtures
    palm_short_db_per_s: float = 110.0  # whatever its tone; muted notes of the string model by 150
    palm_dull_db: float = -20.0  # and has this little above 2 kHz; open notes -1 to -15, fixtures
    palm_duller_db: float = 8.0  # or this much less than the take's bright notes
    dead_db_per_s: float = 100.0  # a dead note falls faster than this
    dead_salience: float = 0.6  # and has hardly a pitch; muted notes 0.85
    knock_rise_db: float = 8.0  # a dead note with no pitch stands out by this much
    knock_drop_db: float = 14.0  # and is gone 60 ms later
    knock_least_rise_db: float = 1.0  # out of a ringing string it stands out by little,
    knock_deep_drop_db: float = 30.0  # but leaves silence: palm-muted notes fall by 26 at most, made riffs
    gesture_doubted: float = 0.65  # how plain a bend or slide was, below which it is doubted
    between_targets_cents: float = 24.0  # a bend hardly nearer to its target than to the next
    take_doubted: float = 0.8  # mean confidence below which the whole take is doubted; our takes of one line lie at .9
    # and above, recorded lead lines at .82 and .90, chords, finger-picking and talk at .79 and below
    take_doubted_least_notes: int = 4  # fewer notes say nothing about a take
    tuning_doubted_cents: float = 12.0  # standard error of the tuning offset
    bend_tolerance_cents: float = 10.0  # miss that still counts as in tune; about 10 cents are heard in short sequences
    # (Hill and Summers, J. Acoust. Soc. Am. 121(4), 2007)
    blurred_semitones: float = 3.5  # a slow fall with no frets on the way and no push before is a pull-off, if so wide
    faint_pick: float = 0.9  # likelihood of a pick that is believed with hardly a pitch
    faint_salience: float = 0.08  # average salience that still shows its pitch; palm-muted low strings of the fixtures
    delay_shortest_s: float = 0.15  # delay effects repeat after this at the least; shorter is one thickened sound
    delay_longest_s: float = 1.1  # and this at the most; common practice
    delay_over_usual: float = 30.0  # a delay's likeness to itself over the usual one; 8 takes with, 60 without
    delay_over_second: float = 1.5  # and over the next best lag
    echo_within_s: float = 0.02  # an onset is told to this
    least_confidence: float = 0.15  # notes less sure are left out; one in six of them was right, real leads
    # of several voices: F gains by notes surer than half of F itself, so a note likelier wrong than right is left out
    least_confidence_of_several: float = 0.45
    least_confidence_of_strange: float = 0.8  # in a take that hardly sounds like one guitar; talk lies below mostly


@dataclass(frozen=True, slots=True)
class RhythmSettings:
    """Tempo, grid and written values. Numbers without a source are our own, tried on licks of known rhythm."""

    slowest_bpm: float = 50.0  # beats a minute; common practice
    fastest_bpm: float = 200.0
    middle_bpm: float = 100.0  # the tempo preferred when two fit alike; also assumed when nothing tells
    tempo_spread_octaves: float = 0.42  # how mild that preference is: one standard deviation
    jitter_s: float = 0.017  # how far a steady player's picked notes stray; one standard deviation
    legato_jitter_s: float = 0.026  # the same for notes the fretting hand starts
    legato_weight: float = 0.5  # how much a hammered, pulled or slid note tells about the beat; picked is 1
    together_s: float = 0.04  # picked notes closer than this start together: no hand plays 25 notes a second,
    strum_s: float = 0.1  # and as many as one stroke over the strings brings in this time
    drift_a_quarter: float = 0.01  # share by which the tempo may wander from one quarter to the next
    closing_s: float = 3.0  # before the last note the tempo may broaden
    closing_drift: float = 0.04  # so much from one quarter to the next
    tempo_error: float = 0.01  # share by which a first guess of the tempo may be off
    steady_share: float = 0.4  # share of that error that is left when the tempo was given
    candidates: int = 7  # tempos tried in full, with their kin
    tempos_kept: int = 5  # of these, and of beats plain or dotted, tried from every point of the beat
    reading_temper: float = 1.0  # above 1 makes readings less sure of themselves
    beam: int = 24  # readings kept alive while following the notes
    quick_beam: int = 7  # the same while tempos are compared
    readings_looked_at: int = 30  # of all considered, before those that say the same are put together
    readings_kept: int = 6  # in the take document
    least_likely: float = 0.02  # to be kept
    least_likely_tempo: float = 0.004  # the same for the first of another tempo
    shortest_rest_s: float = 0.2  # silences shorter than this belong to the note before
    rest_share: float = 0.34  # and so do those below this share of the way to the next note
    doubt_share: float = 0.1  # another metre or bar 1 as likely as this is named
    # Another tempo as likely as this is named: in 11 of 12 wrong tempos, 7 % of right ones (cross-validated folk tunes)
    tempo_doubt_share: float = 0.05
    brisk_bpm: float = 170.0  # beats faster than this are doubted: as a rule half as many are counted; common practice
    stray_s: float = 0.06  # a note this far from where it is written is doubted


@dataclass(frozen=True, slots=True)
class HarmonySettings:
    """Keys. What is learned stands in ``harmony.key_weights``."""

    # Weight in nats of each column of ``harmony.key_guitar.guitar_hints``; our own choice: there is no such corpus
    guitar_weights: tuple[float, ...] = (2.0, 1.5, 0.7, 2.5, 1.2, 0.7, 2.0, 0.4, 2.5)
    # and of ``harmony.key_backing.backing_hints``
    backing_weights: tuple[float, ...] = (2.0, 1.5, 1.0, 1.5, 3.0)
    # By how much the sums of such lines are divided: chosen by likelihood on the tuning half of the folk melodies, and
    # for several strings on cuts of 2 to 4 bars of 19 analysed chorales, all of them and our own passages in sight
    spread_without_half_steps: float = 1.25
    spread_of_several: float = 1.5
    # Below it the runner-up is named as a doubt: there one estimate in three is wrong (cuts of 2 to 4 bars, held out)
    sure_of_key: float = 0.8


@dataclass(frozen=True, slots=True)
class MidiSettings:
    """MIDI files."""

    ticks_per_quarter: int = 960  # 0.5 ms at 120 bpm
    plain_bpm: float = 120.0  # where the take has no tempo; what a file without one means (Standard MIDI Files 1.0)
    program: int = 25  # General MIDI 1 program 26, steel-string guitar; counted from 0 on the wire
    muted_program: int = 28  # General MIDI 1 program 29, muted guitar: palm mutes and dead notes
    bend_ranges: tuple[int, ...] = (2, 12, 24)  # semitones; the narrowest that holds every bend; 2 at power-on
    bend_step_s: float = 0.01  # between bend messages; the hop of the pitch tracker
    bend_step_cents: float = 1.0  # smaller moves are not sent: a fifth of what a trained ear hears
    loudest_velocity: int = 112  # of the loudest note with a measured level
    plain_velocity: int = 88  # of a note without one
    glide_s: float = 0.1  # length of a slide whose pitch was not measured, at most; common practice
    vibrato_delay_s: float = 0.15  # before an unmeasured vibrato sets in; common practice
    ring_out_s: float = 0.25  # a bent string keeps its pitch this long while the sound dies away


@dataclass(frozen=True, slots=True)
class Settings:
    """All rooms' defaults together."""

    audio: AudioSettings = AudioSettings()
    evidence: EvidenceSettings = EvidenceSettings()
    notes: NoteSettings = NoteSettings()
    rhythm: RhythmSettings = RhythmSettings()
    harmony: HarmonySettings = HarmonySettings()
    midi: MidiSettings = MidiSettings()

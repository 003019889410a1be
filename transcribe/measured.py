"""What hearing asks of the sound itself, without a network: measured while a network or another room works."""

from __future__ import annotations

from transcribe.audio.once import once
from transcribe.audio.recording import Recording
from transcribe.evidence.features import onset_map
from transcribe.notes.attack import envelope
from transcribe.notes.echoes import delay_s
from transcribe.rhythm.clicks import Clicks, heard_clicks
from transcribe.settings import Settings


def measure_ahead(recording: Recording, settings: Settings) -> None:
    """Measure delay, loudness, onsets and clicks, so that whoever asks for them later need not wait."""
    delay_s(recording, settings.notes)
    envelope(recording)
    onset_map(recording, settings.evidence, hop_s=settings.evidence.hop_s)
    clicks_in(recording)


@once
def clicks_in(recording: Recording) -> Clicks | None:
    """Return the clicks heard in a recording, counted from its first sample; None where there are none."""
    return heard_clicks(recording.samples, recording.rate_hz)

"""A small reader of Standard MIDI Files, written from the specification alone, to check our writer against.

Standard MIDI Files 1.0: header and track chunks, variable-length delta times, meta events. MIDI 1.0 Detailed
Specification: status bytes, number of data bytes, 14-bit pitch bend with the low seven bits first.
"""

from __future__ import annotations

from dataclasses import dataclass

DATA_BYTES = {0x80: 2, 0x90: 2, 0xA0: 2, 0xB0: 2, 0xC0: 1, 0xD0: 1, 0xE0: 2}


@dataclass(frozen=True)
class Event:
    tick: int
    status: int  # 0xFF for meta events
    data: tuple[int, ...]

    @property
    def kind(self) -> int:
        return self.status & 0xF0 if self.status < 0xF0 else self.status

    @property
    def channel(self) -> int:
        return self.status & 0x0F

    @property
    def bend(self) -> int:
        """14-bit pitch bend."""
        assert self.kind == 0xE0
        return self.data[0] | self.data[1] << 7


@dataclass(frozen=True)
class MidiFile:
    type: int
    division: int
    tracks: tuple[tuple[Event, ...], ...]

    def channel_events(self) -> dict[int, list[Event]]:
        found: dict[int, list[Event]] = {}
        for track in self.tracks:
            for event in track:
                if event.kind < 0xF0:
                    found.setdefault(event.channel, []).append(event)
        return found

    def meta(self, kind: int) -> list[tuple[int, ...]]:
        """What every meta event of one kind holds, after its kind."""
        events = [event for track in self.tracks for event in track if event.kind == 0xFF]
        return [event.data[1:] for event in events if event.data[0] == kind]


def read_midi(data: bytes) -> MidiFile:
    assert data[:8] == b"MThd\x00\x00\x00\x06", "header chunk of six bytes"
    file_type, count, division = (int.from_bytes(data[at : at + 2], "big") for at in (8, 10, 12))
    assert division < 0x8000, "ticks a quarter, not SMPTE"
    at, tracks = 14, []
    while at < len(data):
        assert data[at : at + 4] == b"MTrk"
        size = int.from_bytes(data[at + 4 : at + 8], "big")
        tracks.append(tuple(_events(data[at + 8 : at + 8 + size])))
        at += 8 + size
    assert at == len(data)
    assert len(tracks) == count
    return MidiFile(file_type, division, tuple(tracks))


def _events(data: bytes):
    at, tick, status = 0, 0, 0
    while at < len(data):
        delta, at = _variable(data, at)
        tick += delta
        if data[at] >= 0x80:
            status, at = data[at], at + 1
        if status == 0xFF:
            kind = data[at]
            size, at = _variable(data, at + 1)
            yield Event(tick, 0xFF, (kind, *data[at : at + size]))
            at += size
            assert kind != 0x2F or at == len(data), "end of track comes last"
            continue
        size = DATA_BYTES[status & 0xF0]
        values = tuple(data[at : at + size])
        assert len(values) == size
        assert max(values) < 0x80, "data bytes have their top bit clear"
        yield Event(tick, status, values)
        at += size


def _variable(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for length in range(1, 5):
        value = value << 7 | data[at] & 0x7F
        at += 1
        if data[at - 1] < 0x80:
            return value, at
        assert length < 4, "a variable-length quantity has four bytes at most"
    raise AssertionError

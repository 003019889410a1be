"""Scores as a table for people, and as JSON values for programs."""

from __future__ import annotations

from typing import Any

from transcribe.evaluate.scores import Caught, Found, Scores, Share, Spread

FOUND_ROWS = (
    ("notes", "notes: right semitone, start within 50 ms"),
    ("notes_with_ends", "the same, and end within 20 % or 50 ms"),
    ("bends", "bends, pre-bends, releases: target within 50 cents"),
    ("curls", "quarter-tone curls among them: within 20 cents"),
    ("slides", "slides"),
    ("legato", "hammer-ons, pull-offs, slid-to notes"),
    ("vibrato", "vibrato: rate within a quarter"),
    ("palm_mutes", "palm mutes"),
    ("dead_notes", "dead notes"),
)
SHARE_ROWS = (
    ("attacks", "attack called right, of the notes found"),
    ("strings", "string and fret as in the reference"),
    ("fingers", "finger too, where string and fret agree"),
    ("rhythm", "bar, beat and value as in the reference"),
    ("tempo", "tempo within 4 %"),
)
SPREAD_ROWS = (
    ("onset_error_ms", "start of the notes found", "ms"),
    ("bend_size_error_cents", "size of bends", "cents"),
)

CAUGHT_ROWS = (
    ("note_doubts", "notes that were not played, or not there"),
    ("attack_doubts", "attacks called wrong, of the notes found"),
    ("gesture_doubts", "bends and slides called wrong, of the notes found"),
)


def format_scores(scores: Scores) -> str:
    """Return the scores as lines of text; what nobody played and nobody wrote has a dash."""
    lines = [f"{'':52}{'F':>6}{'found':>12}{'invented':>10}"]
    for name, words in FOUND_ROWS:
        found: Found = getattr(scores, name)
        of = f"{found.right} of {found.wanted}"
        lines.append(f"{words:52}{_number(found.f):>6}{of:>12}{found.written - found.right:>10}")
    lines.append("")
    for name, words in SHARE_ROWS:
        share: Share = getattr(scores, name)
        of = f"{share.right} of {share.judged}"
        lines.append(f"{words:52}{_number(share.share):>6}{of:>12}")
    lines.append("")
    lines.append(f"{'':52}{'half':>6}{'nine in ten':>12}  stay below")
    for name, words, unit in SPREAD_ROWS:
        spread: Spread = getattr(scores, name)
        lines.append(f"{words:52}{_size(spread.part(0.5)):>6}{_size(spread.part(0.9)):>12}  {unit}")
    lines += ["", f"{'doubts':52}{'wrong ones caught':>18}{'right ones marked':>20}"]
    for name, words in CAUGHT_ROWS:
        caught: Caught = getattr(scores, name)
        lines.append(f"{words:52}{_of(caught.caught, caught.wrong):>18}{_of(caught.marked, caught.right):>20}")
    missed = scores.notes.wanted - scores.notes.right
    lines.append(f"{'notes missed, which no doubt can mark':52}{missed:>18}")
    return "\n".join(lines)


def scores_to_json(scores: Scores) -> dict[str, Any]:
    """Return the scores as JSON values, one object a row of the table; null where there is nothing to score."""
    told: dict[str, Any] = {}
    for name, _ in FOUND_ROWS:
        found: Found = getattr(scores, name)
        told[name] = {
            "right": found.right,
            "wanted": found.wanted,
            "written": found.written,
            "precision": _rounded(found.precision),
            "recall": _rounded(found.recall),
            "f": _rounded(found.f),
        }
    for name, _ in SHARE_ROWS:
        share: Share = getattr(scores, name)
        told[name] = {"right": share.right, "judged": share.judged, "share": _rounded(share.share)}
    for name, _ in CAUGHT_ROWS:
        caught: Caught = getattr(scores, name)
        told[name] = {
            "wrong": caught.wrong,
            "caught": caught.caught,
            "right": caught.right,
            "marked": caught.marked,
            "caught_share": _rounded(caught.caught_share),
            "marked_share": _rounded(caught.marked_share),
        }
    for name, _, _ in SPREAD_ROWS:
        spread: Spread = getattr(scores, name)
        told[name] = {"median": _rounded(spread.part(0.5)), "nine_in_ten": _rounded(spread.part(0.9))}
    return told


def _of(some: int, every: int) -> str:
    return "-" if every == 0 else f"{some} of {every} ({some / every:.0%})"


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:.3f}"


def _size(value: float | None) -> str:
    return "-" if value is None else f"{value:.1f}"


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)

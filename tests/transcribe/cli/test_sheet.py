"""``takesheet sheet``: from a document and from a recording, all files or none, and every mistake in two lines."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from transcribe.cli.commands import main

ROOT = Path(__file__).parents[3]
LICK = ROOT / "fixtures" / "reference" / "lamp-room.bright-electric.take.json"
TAKE = ROOT / "fixtures" / "takes" / "lamp-room.bright-electric.flac"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def lick(tmp_path):
    return Path(shutil.copy(LICK, tmp_path / "lamp-room.take.json"))


def bare(folder: Path, **more) -> Path:
    """A document by another program: nothing but pitches and times."""
    data = {
        "format": "takesheet/take", "version": 1, "instrument": {"open_strings_midi": [64, 59, 55, 50, 45, 40]},
        "notes": [
            {"id": f"n{k}", "onset_s": 0.5 * k, "offset_s": 0.5 * k + 0.4, "midi": midi}
            for k, midi in enumerate((57, 60, 62, 64))
        ],
    } | more  # fmt: skip
    path = folder / "bare.take.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def text_of(path: Path) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(path.read_bytes())).pages)


def svg_words(path: Path) -> list[str]:
    root = ElementTree.fromstring(path.read_bytes())
    return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def test_a_document_becomes_pdf_and_svg(lick, tmp_path, capsys):
    assert main(["sheet", str(lick), "--out", str(tmp_path / "out")]) == 0
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"lamp-room.pdf", "lamp-room.svg"}
    assert "written:" in capsys.readouterr().out
    assert "Lamp room" in text_of(tmp_path / "out" / "lamp-room.pdf")


def test_every_note_of_the_take_has_its_words_in_the_svg(lick, tmp_path):
    main(["sheet", str(lick), "--out", str(tmp_path)])
    root = ElementTree.fromstring((tmp_path / "lamp-room.svg").read_bytes())
    told = {group.get("data-note"): group[0].text for group in root.iter(f"{SVG}g") if group.get("data-note")}
    ids = {note["id"] for note in json.loads(lick.read_text(encoding="utf-8"))["notes"]}
    assert ids <= set(told)
    assert all(words for words in told.values())


def test_formats_are_chosen(lick, tmp_path, capsys):
    assert main(["sheet", str(lick), "--out", str(tmp_path / "out"), "--formats", "png,svg", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [Path(name).name for name in told["files"]] == ["lamp-room.svg", "lamp-room.page1.png"]
    assert (told["pages"], told["title"], told["left_over"]) == (1, "Lamp room", [])


def test_the_title_and_paper_are_chosen(lick, tmp_path):
    words = ["--title", "The lamp over the nets", "--paper", "letter", "--formats", "pdf"]
    main(["sheet", str(lick), "--out", str(tmp_path), *words])
    page = PdfReader(io.BytesIO((tmp_path / "lamp-room.pdf").read_bytes())).pages[0]
    assert "The lamp over the nets" in page.extract_text()
    assert [round(float(side)) for side in page.mediabox[2:]] == [612, 792]


def test_one_staff_alone_is_lower_than_both(lick, tmp_path):
    heights = {}
    for only in (None, "notation", "tab"):
        main(["sheet", str(lick), "--out", str(tmp_path), "--formats", "svg", *(["--only", only] if only else [])])
        heights[only] = float(
            ElementTree.fromstring((tmp_path / "lamp-room.svg").read_bytes()).get("viewBox").split()[3]
        )
    assert heights["notation"] < heights[None]
    assert heights["tab"] < heights[None]


def test_parts_are_added_and_left_out(lick, tmp_path):
    for words, shown in ((["--without", "legend"], False), (["--with", "strokes,tones"], True)):
        main(["sheet", str(lick), "--out", str(tmp_path), "--formats", "svg", *words])
        assert ("Signs on this sheet" in svg_words(tmp_path / "lamp-room.svg")) is shown


def test_draft_style_lists_doubts_and_final_leaves_them_out(tmp_path, capsys):
    doubted = bare(tmp_path, doubts=[{"note": "n2", "why": "two trackers disagree"}])
    main(["sheet", str(doubted), "--out", str(tmp_path), "--formats", "svg"])
    draft = svg_words(tmp_path / "bare.svg")
    assert "1 doubt listed and marked" in capsys.readouterr().out
    assert any("two trackers disagree" in words for words in draft)
    main(["sheet", str(doubted), "--out", str(tmp_path), "--formats", "svg", "--final"])
    final = svg_words(tmp_path / "bare.svg")
    assert "draft style" not in capsys.readouterr().out
    assert not any("two trackers disagree" in words or words == "?" for words in final)
    assert "?" in draft


def test_pitches_and_times_alone_are_enough(tmp_path):
    """They are placed on the neck, so that the tab has something to say: A3 C4 D4 E4, nowhere but on frets."""
    assert main(["sheet", str(bare(tmp_path)), "--out", str(tmp_path)]) == 0
    assert "Bare" in text_of(tmp_path / "bare.pdf")
    words = svg_words(tmp_path / "bare.svg")
    assert not {"A3", "C4", "D4", "E4"} & set(words)  # the names that stand for notes without a place
    assert len([text for text in words if text.isdigit()]) >= 4


def test_what_nobody_can_place_is_still_written(tmp_path):
    low = [{"id": "n1", "onset_s": 0.0, "offset_s": 0.5, "midi": 20}]
    assert main(["sheet", str(bare(tmp_path, notes=low)), "--out", str(tmp_path), "--formats", "svg"]) == 0


def test_a_document_without_notes_is_a_sheet_with_an_empty_bar(tmp_path):
    assert main(["sheet", str(bare(tmp_path, notes=[])), "--out", str(tmp_path)]) == 0


def test_a_recording_is_drafted_first(tmp_path):
    assert main(["sheet", str(TAKE), "--key", "A minor", "--out", str(tmp_path), "--formats", "pdf"]) == 0
    text = text_of(tmp_path / "lamp-room.bright-electric.pdf")
    assert "key A minor" in text
    assert "full" in text  # its bends of a whole tone


def test_music_of_other_programs_becomes_a_sheet_too(tmp_path):
    """A draft's own MusicXML and MIDI stand for them."""
    from transcribe.document.read import read_document
    from transcribe.write.draft_files import draft_files

    files = draft_files(read_document(LICK), title="lamp-room")
    for ending in (".musicxml", ".mid"):
        (tmp_path / f"lamp{ending}").write_bytes(files[ending])
        assert main(["sheet", str(tmp_path / f"lamp{ending}"), "--out", str(tmp_path / "out"), "--formats", "pdf"]) == 0
        assert "Lamp" in text_of(tmp_path / "out" / "lamp.pdf")


def test_a_caution_is_printed_but_marks_no_note_as_doubtful(tmp_path, capsys):
    caution = {"note": "n2", "why": "take care: a stretch of 92 mm between the outer fingers. Warm up first."}
    main(["sheet", str(bare(tmp_path, doubts=[caution])), "--out", str(tmp_path), "--formats", "svg"])
    words = svg_words(tmp_path / "bare.svg")
    assert any("a stretch of 92 mm" in text for text in words)
    assert "?" not in words
    assert "draft style" not in capsys.readouterr().out


def test_a_title_no_font_can_print_is_refused_and_the_mend_is_told(lick, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("transcribe.write.fonts.other_scripts.font_folders", lambda: ())
    assert main(["sheet", str(lick), "--out", str(tmp_path), "--title", "灯台", "--formats", "pdf"]) == 2
    found, mend = capsys.readouterr().err.splitlines()[-2:]
    assert "no font here has the signs 灯台" in found
    assert "--font" in mend
    assert list(tmp_path.glob("*.pdf")) == []


def test_signs_of_a_file_name_that_no_font_has_are_left_out_and_named(lick, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("transcribe.write.fonts.other_scripts.font_folders", lambda: ())
    renamed = tmp_path / "lamp 灯台.take.json"
    renamed.write_bytes(lick.read_bytes())
    assert main(["sheet", str(renamed), "--out", str(tmp_path), "--formats", "pdf"]) == 0
    assert "no sign for 灯台" in capsys.readouterr().err


def test_pages_of_an_earlier_sheet_are_pointed_out(lick, tmp_path, capsys):
    (tmp_path / "lamp-room.page4.png").touch()
    main(["sheet", str(lick), "--out", str(tmp_path), "--formats", "png"])
    assert "lamp-room.page4.png" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["--formats", "gif"], "no such format: gif"),
        (["--formats", ""], "no format to write"),
        (["--with", "lyrics"], "no such part: lyrics"),
        (["--with", "tones", "--without", "tones"], "both name tones"),
    ],
)
def test_a_mistake_gets_two_lines_and_writes_nothing(lick, tmp_path, capsys, words, found):
    assert main(["sheet", str(lick), "--out", str(tmp_path / "out"), *words]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 2
    assert found in lines[0]
    assert not (tmp_path / "out").exists()


def test_a_missing_or_broken_document_is_refused(tmp_path, capsys):
    (tmp_path / "broken.take.json").write_text("{", encoding="utf-8")
    for name in ("missing.take.json", "broken.take.json", "missing.wav"):
        assert main(["sheet", str(tmp_path / name), "--out", str(tmp_path / "out")]) == 2
        assert name in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_all_files_or_none(lick, tmp_path, capsys):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "lamp-room.svg").mkdir()
    assert main(["sheet", str(lick), "--out", str(tmp_path / "out")]) == 2
    assert "is a folder" in capsys.readouterr().err
    assert not (tmp_path / "out" / "lamp-room.pdf").exists()


def test_without_the_pdf_library_nothing_is_written_and_the_mend_is_told(lick, tmp_path, capsys, monkeypatch):
    monkeypatch.setitem(sys.modules, "reportlab.pdfgen.canvas", None)
    assert main(["sheet", str(lick), "--out", str(tmp_path / "out")]) == 2
    assert "pip install reportlab" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_other_commands_load_nothing_of_it():
    """Start-up first: help and drafts do not pay for engraving."""
    code = (
        "import sys\nfrom transcribe.cli.commands import main\n"
        "try:\n    main(['sheet', '--help'])\nexcept SystemExit:\n    pass\n"
        "late = {'reportlab', 'quickjs', 'resvg_py', 'PIL', 'transcribe.write.sheet', 'transcribe.write.pdf'}\n"
        "sys.exit(f'loaded {late & set(sys.modules)}' if late & set(sys.modules) else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, done.stderr

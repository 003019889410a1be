"""Writing several files at once: all whole, or nothing changed, and a plain word why."""

import errno
import os
import sys

import pytest

from transcribe.errors import WriteError
from transcribe.write.files import write_together

FILES = {"lick.mid": b"new midi", "lick.musicxml": b"new xml", "lick.tab.txt": b"new tab"}


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def failing(monkeypatch, name, number, *, call):
    """Make the ``call``-th use of ``os.<name>`` fail as the system would."""
    real, count = getattr(os, name), 0

    def wrapped(*arguments, **options):
        nonlocal count
        count += 1
        if count == call:
            raise OSError(number, os.strerror(number))
        return real(*arguments, **options)

    monkeypatch.setattr(os, name, wrapped)


def test_files_arrive_whole_in_a_folder_that_is_made(tmp_path):
    paths = write_together(tmp_path / "a" / "b", FILES)
    assert contents(tmp_path / "a" / "b") == FILES
    assert [path.name for path in paths] == list(FILES)


def test_files_are_replaced_and_nothing_is_left_beside_them(tmp_path):
    (tmp_path / "lick.mid").write_bytes(b"old")
    write_together(tmp_path, FILES)
    assert contents(tmp_path) == FILES


@pytest.mark.parametrize("call", [1, 2, 3])
@pytest.mark.parametrize(("name", "number"), [("replace", errno.EACCES), ("fsync", errno.ENOSPC)])
def test_a_failure_on_the_way_changes_nothing(tmp_path, monkeypatch, name, number, call):
    """Whichever of the three fails, in writing or in renaming, the old file is back and no new one stays."""
    (tmp_path / "lick.mid").write_bytes(b"old midi")
    (tmp_path / "lick.tab.txt").write_bytes(b"old tab")
    before = contents(tmp_path)
    failing(monkeypatch, name, number, call=call)
    with pytest.raises(WriteError, match=list(FILES)[call - 1]):
        write_together(tmp_path, FILES)
    assert contents(tmp_path) == before


def test_a_folder_made_for_nothing_is_removed_again(tmp_path, monkeypatch):
    failing(monkeypatch, "replace", errno.EIO, call=2)
    with pytest.raises(WriteError, match="cannot be written"):
        write_together(tmp_path / "a" / "b", FILES)
    assert list(tmp_path.iterdir()) == []


def test_an_interruption_leaves_nothing_behind(tmp_path, monkeypatch):
    def interrupted(source, target):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_together(tmp_path, FILES)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("number", "found", "mend"),
    [
        (errno.ENOSPC, "no room left", "Free some space"),
        (errno.EACCES, "not allowed", "rights"),
        (errno.EROFS, "not allowed", "another --out"),
        (errno.EIO, "cannot be written", "another --out"),
    ],
)
def test_words_for_what_the_system_says(tmp_path, monkeypatch, number, found, mend):
    failing(monkeypatch, "open", number, call=1)
    with pytest.raises(WriteError) as caught:
        write_together(tmp_path, FILES)
    assert found in caught.value.found
    assert str(tmp_path / "lick.mid") in caught.value.found
    assert mend in caught.value.mend


def test_a_file_where_the_folder_should_be(tmp_path):
    (tmp_path / "out").write_text("a file")
    for folder in (tmp_path / "out", tmp_path / "out" / "deeper"):
        with pytest.raises(WriteError, match="is a file, not a folder"):
            write_together(folder, FILES)
    assert (tmp_path / "out").read_text() == "a file"


def test_a_folder_where_a_file_should_be(tmp_path):
    (tmp_path / "lick.musicxml").mkdir()
    with pytest.raises(WriteError, match="is a folder"):
        write_together(tmp_path, FILES)
    assert contents(tmp_path) == {}


def test_a_name_no_disk_takes(tmp_path):
    with pytest.raises(WriteError, match="takes no file called"):
        write_together(tmp_path, {"x" * 300 + ".mid": b""})
    with pytest.raises(WriteError, match="takes no file called"):
        write_together(tmp_path, {"a\0b.mid": b""})
    assert list(tmp_path.iterdir()) == []


def test_a_file_too_large_for_the_disk(tmp_path):
    """The system itself stops the write halfway (POSIX limit on file size)."""
    if sys.platform == "win32":
        return
    import resource
    import signal

    earlier = resource.getrlimit(resource.RLIMIT_FSIZE)
    earlier_signal = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, earlier[1]))
    try:
        with pytest.raises(WriteError, match="no room left"):
            write_together(tmp_path, {"small.mid": b"small", "large.mid": bytes(5000)})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, earlier)
        signal.signal(signal.SIGXFSZ, earlier_signal)
    assert list(tmp_path.iterdir()) == []


def test_a_link_stays_a_link(tmp_path):
    if sys.platform == "win32":
        return
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "real.mid").write_bytes(b"old")
    (tmp_path / "lick.mid").symlink_to(tmp_path / "elsewhere" / "real.mid")
    write_together(tmp_path, {"lick.mid": b"new"})
    assert (tmp_path / "lick.mid").is_symlink()
    assert (tmp_path / "elsewhere" / "real.mid").read_bytes() == b"new"


def test_the_rights_of_a_replaced_file_stay(tmp_path):
    if sys.platform == "win32":
        return
    (tmp_path / "lick.mid").write_bytes(b"old")
    (tmp_path / "lick.mid").chmod(0o640)
    write_together(tmp_path, {"lick.mid": b"new"})
    assert (tmp_path / "lick.mid").stat().st_mode & 0o777 == 0o640


def test_the_advice_fits_the_caller(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(WriteError) as refused:
        write_together(tmp_path / "file", FILES, elsewhere="Name another file with --picture")
    assert refused.value.mend == "Name another file with --picture."

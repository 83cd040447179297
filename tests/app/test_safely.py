"""Saving is whole or not at all, and says in one sentence why not."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from app.files import lock as locks
from app.files.safely import changed_since, read_bytes, stamp_of, write_bytes
from geometry.errors import PatternError


def test_what_is_saved_is_read_and_nothing_else_is_left(tmp_path: Path) -> None:
    file = tmp_path / "top.garment.json"
    write_bytes(file, b"one")
    write_bytes(str(file), b"two")
    assert read_bytes(file, 3) == b"two"
    assert os.listdir(tmp_path) == [file.name]


def test_a_link_stays_a_link_and_the_mode_is_kept(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    real, link = tmp_path / "a" / "real.json", tmp_path / "link.json"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    write_bytes(link, b"new")
    assert link.is_symlink() and real.read_bytes() == b"new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    assert os.listdir(tmp_path / "a") == ["real.json"]


def test_a_new_file_has_the_usual_mode(tmp_path: Path) -> None:
    old = os.umask(0o027)
    try:
        write_bytes(tmp_path / "new", b"")
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o640


def test_a_pipe_is_written_to_and_stays_a_pipe(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_bytes(pipe, b"through")
        assert os.read(reader, 20) == b"through"
    finally:
        os.close(reader)
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.ENOSPC, "“f.json” was not saved, because the disk is full; what was there before is kept."),
        (errno.EACCES, "may not be written to; choose another folder."),
        (errno.EROFS, "may not be written to; choose another folder."),
        (errno.EIO, "“f.json” was not saved: input/output error."),
    ],
)
def test_a_failure_half_way_keeps_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, says: str
) -> None:
    file = tmp_path / "f.json"
    file.write_bytes(b"old")

    def fail(_: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(PatternError) as caught:
        write_bytes(file, b"new")
    assert caught.value.says.endswith(says)
    assert file.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["f.json"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is always full")
def test_a_device_that_is_full_is_said(tmp_path: Path) -> None:
    with pytest.raises(PatternError, match="the disk is full"):
        write_bytes("/dev/full", b"x")


def test_what_cannot_be_saved_is_said(tmp_path: Path) -> None:
    with pytest.raises(PatternError, match=r"^“f\.json” was not saved, because there is no folder “.*nowhere”\.$"):
        write_bytes(tmp_path / "nowhere" / "f.json", b"")
    with pytest.raises(PatternError, match="is a folder; give the name of a file in it"):
        write_bytes(tmp_path, b"")
    read_only = tmp_path / "kept.json"
    read_only.write_bytes(b"kept")
    read_only.chmod(0o444)
    with pytest.raises(PatternError, match=r"^“kept\.json” is read-only, so it was not saved"):
        write_bytes(read_only, b"lost")
    assert read_only.read_bytes() == b"kept"
    with pytest.raises(PatternError, match="the name is too long"):
        write_bytes(tmp_path / ("n" * 300), b"")
    with pytest.raises(PatternError, match="was not saved"):
        write_bytes(tmp_path / "nul\0", b"")


def test_what_cannot_be_read_is_said(tmp_path: Path) -> None:
    with pytest.raises(PatternError, match=r"^There is no file “.*none\.json”\.$"):
        read_bytes(tmp_path / "none.json", 10)
    with pytest.raises(PatternError, match="is a folder"):
        read_bytes(tmp_path, 10)
    (tmp_path / "large").write_bytes(bytes(2_000_001))
    with pytest.raises(PatternError, match=r"^“large” is larger than 2 MB, so it was not read\.$"):
        read_bytes(tmp_path / "large", 2_000_000)


def test_a_change_on_disk_is_seen_and_a_mere_touch_is_not(tmp_path: Path) -> None:
    file = tmp_path / "f.json"
    assert not changed_since(file, None)
    file.write_bytes(b"one")
    assert changed_since(file, None)
    stamp = stamp_of(b"one")
    os.utime(file, (0, 0))
    assert not changed_since(file, stamp)
    file.write_bytes(b"two")
    os.utime(file, (0, 0))
    assert changed_since(file, stamp)
    file.unlink()
    assert changed_since(file, stamp)


def test_a_second_holder_is_refused_until_the_first_lets_go(tmp_path: Path) -> None:
    file = tmp_path / "top.garment.json"
    with locks.lock(file) as first:
        assert first.held
        with pytest.raises(PatternError, match=rf"open in another window or command \(process {os.getpid()}\)"):
            locks.lock(file)
        link = tmp_path / "link.json"
        link.symlink_to(file)
        with pytest.raises(PatternError):
            locks.lock(link)
        link.unlink()
    assert os.listdir(tmp_path) == []
    locks.lock(file).release()


def test_another_process_is_refused_and_one_that_died_is_not(tmp_path: Path) -> None:
    file = tmp_path / "top.garment.json"
    hold = f"from app.files.lock import lock; l = lock({str(file)!r}); print('held', flush=True); input()"
    root = Path(__file__).resolve().parents[2]
    with subprocess.Popen([sys.executable, "-c", hold], stdin=-1, stdout=-1, text=True, cwd=root) as other:
        assert other.stdout is not None and other.stdout.readline() == "held\n"
        with pytest.raises(PatternError, match=f"process {other.pid}"):
            locks.lock(file)
        other.kill()
    assert locks.lock_file(file).exists()
    with locks.lock(file) as mine:
        assert mine.held
    assert os.listdir(tmp_path) == []


def test_a_full_disk_leaves_no_lock_and_no_draft_of_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def write_half(path: Path, text: str, **_: object) -> int:
        path.write_bytes(text[:5].encode())
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "write_text", write_half)
    with pytest.raises(PatternError, match="cannot be held open: no space left"):
        locks.lock(tmp_path / "bodice.garment.json")
    assert list(tmp_path.iterdir()) == []


def test_a_lock_of_another_computer_is_respected_and_a_spoilt_one_is_not(tmp_path: Path) -> None:
    file = tmp_path / "top.garment.json"
    locks.lock_file(file).write_text('{"process": 1, "computer": "wardrobe", "begun": 1}')
    with pytest.raises(PatternError, match="open on the computer “wardrobe”; close it there, or delete"):
        locks.lock(file)
    for spoilt in ("", "[]", '{"process": "x"}', "\ud800".encode("utf-8", "surrogatepass").decode("latin-1")):
        locks.lock_file(file).write_text(spoilt, encoding="latin-1")
        with locks.lock(file) as mine:
            assert mine.held


def test_a_later_process_of_the_same_number_is_not_the_holder(tmp_path: Path) -> None:
    file = tmp_path / "top.garment.json"
    mine = locks._myself()
    if mine["begun"] is None:
        pytest.skip("this system does not say when a process began")
    locks.lock_file(file).write_text(f'{{"process": {os.getpid()}, "computer": "{mine["computer"]}", "begun": 1}}')
    with locks.lock(file) as taken:
        assert taken.held


def test_where_nobody_can_write_nobody_needs_a_lock(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "no")

    monkeypatch.setattr(Path, "write_text", refuse)
    with locks.lock(tmp_path / "f.json") as granted:
        assert not granted.held
    with pytest.raises(PatternError, match="There is no folder"):
        monkeypatch.undo()
        locks.lock(tmp_path / "nowhere" / "f.json")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_read_while_something_comes_and_else_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.files.safely._PIPE_SECONDS", 0.2)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(PatternError, match="a pipe through which nothing comes"):
        read_bytes(pipe, 1000)
    monkeypatch.setattr("app.files.safely._PIPE_SECONDS", 20.0)
    content = b"pattern" * 40_000
    writer = threading.Thread(target=lambda: pipe.write_bytes(content))
    writer.start()
    assert read_bytes(pipe, 1_000_000) == content
    writer.join()

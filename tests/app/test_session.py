"""The session: nothing that is open is lost, whatever goes wrong."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from app.documents import with_notes
from app.files import garment_file
from app.files.lock import lock_file
from app.session import ChangedOnDisk, Session, with_garment
from geometry.errors import PatternError
from geometry.pieces import Finish
from geometry.sameness import same
from tests import canon
from tests.window_case import document, shorten


@pytest.fixture
def session(tmp_path: Path) -> Session:
    return Session(tmp_path / "state")


def saved(folder: Path, name: str = "bodice.garment.json") -> Path:
    path = folder / name
    garment_file.save_file(path, document(shorten()))
    return path


def test_what_is_saved_opens_as_it_was(session: Session, tmp_path: Path) -> None:
    session.begin(document(shorten()))
    assert session.unsaved
    session.save(tmp_path / "mine.garment.json")
    assert not session.unsaved
    session.close()
    other = Session(tmp_path / "state")
    other.open(tmp_path / "mine.garment.json")
    assert same(other.garment, canon.bodice())
    assert other.notes == (shorten(),)
    assert other.opened_with == ()
    assert not other.unsaved


@pytest.mark.parametrize(
    "content", [b"", b"{", b'{"format": "tuck-and-true garment", "version": 99}', b'{"format": 1}', b"\xff\xfe\x00"]
)
def test_a_file_that_cannot_be_opened_leaves_what_is_open(session: Session, tmp_path: Path, content: bytes) -> None:
    session.open(saved(tmp_path))
    was, path = session.document, session.path
    broken = tmp_path / "broken.garment.json"
    broken.write_bytes(content)
    with pytest.raises(PatternError):
        session.open(broken)
    assert session.document is was
    assert session.path == path
    assert lock_file(path).exists()
    assert not lock_file(broken).exists()


def test_a_garment_open_elsewhere_is_refused_and_left_alone(session: Session, tmp_path: Path) -> None:
    path = saved(tmp_path)
    session.open(path)
    other = Session(tmp_path / "other")
    with pytest.raises(PatternError, match="open in another window"):
        other.open(path)
    session.close()
    other.open(path)
    assert other.document is not None


def test_the_same_file_can_be_opened_again(session: Session, tmp_path: Path) -> None:
    path = saved(tmp_path)
    session.open(path)
    session.open(path)
    assert lock_file(path).exists()
    session.close()
    assert not lock_file(path).exists()


def test_saving_over_what_somebody_else_wrote_is_asked_about(session: Session, tmp_path: Path) -> None:
    path = saved(tmp_path)
    session.open(path)
    session.put(with_notes(session.document, ()))
    garment_file.save_file(path, document(shorten(amount=40.0)))
    theirs = path.read_bytes()
    with pytest.raises(ChangedOnDisk, match="changed by somebody else"):
        session.save()
    assert path.read_bytes() == theirs
    assert session.unsaved
    session.save(over_changes=True)
    assert not session.unsaved
    assert path.read_bytes() != theirs


def test_a_save_that_fails_keeps_file_and_work(session: Session, tmp_path: Path) -> None:
    path = saved(tmp_path)
    session.open(path)
    session.put(with_notes(session.document, ()))
    was = path.read_bytes()
    path.chmod(0o444)
    try:
        with pytest.raises(PatternError, match="read-only"):
            session.save()
    finally:
        path.chmod(0o644)
    assert path.read_bytes() == was
    assert session.unsaved
    with pytest.raises(PatternError, match="no folder"):
        session.save(tmp_path / "nowhere" / "mine.garment.json")
    assert session.path == path


def test_saving_under_another_name_lets_the_old_file_go(session: Session, tmp_path: Path) -> None:
    path = saved(tmp_path)
    session.open(path)
    session.save(tmp_path / "other.garment.json")
    assert not lock_file(path).exists()
    assert lock_file(tmp_path / "other.garment.json").exists()


def test_a_garment_without_a_file_asks_for_a_name(session: Session) -> None:
    session.begin(document())
    with pytest.raises(PatternError, match="save it under a name"):
        session.save()


def test_work_that_was_not_saved_can_be_got_back(session: Session, tmp_path: Path) -> None:
    path = saved(tmp_path)
    session.open(path)
    session.put(with_notes(session.document, (shorten(amount=33.0),)))
    session.keep_copy()
    (copy,) = (tmp_path / "state" / "not saved").glob("*.garment.json")
    # As if the process that kept it had ended: no process has this number.
    gone = copy.with_name(f"99999999-{copy.name.partition('-')[2]}")
    copy.with_suffix(".of").rename(gone.with_suffix(".of"))
    copy.rename(gone)
    session.close()

    later = Session(tmp_path / "state")
    (found,) = later.recoverable()
    assert found.path == path
    later.recover(found)
    assert later.path == path
    assert later.notes[0].amounts.amount == 33.0
    assert later.unsaved
    assert not gone.exists()
    later.save()
    assert later.recoverable() == ()
    assert list((tmp_path / "state" / "not saved").iterdir()) == []


def test_a_running_window_s_copy_is_not_offered_to_another(session: Session, tmp_path: Path) -> None:
    session.begin(document(shorten()))
    session.keep_copy()
    assert Session(tmp_path / "state").recoverable() == ()


def test_an_id_is_not_given_twice(session: Session) -> None:
    session.begin(document(shorten("note-7")))
    first = session.next_note_id()
    session.put(with_notes(session.document, (*session.notes, shorten(first))))
    session.put(with_notes(session.document, ()))
    assert first == "note-8"
    assert session.next_note_id() not in {"note-7", first}


def test_only_what_changed_is_drafted_again(session: Session) -> None:
    session.begin(document(shorten()))
    session._memory.computed.clear()
    session.put(with_notes(session.document, (shorten(amount=30.0),)))
    assert session._memory.computed.get("note") == 1
    count = dict(session._memory.computed)
    session.put(session.document)
    assert session._memory.computed == count


def test_a_state_that_cannot_be_drafted_is_refused(session: Session) -> None:
    session.begin(document(shorten()))
    was = session.document
    widths = MappingProxyType(dict(session.garment.widths) | {Finish.SEAM: float("nan")})
    with pytest.raises(PatternError):
        session.put(with_garment(was, replace(session.garment, widths=widths)))
    assert session.document is was
    assert session.draft.garment is was.garment


def test_nothing_on_the_table_is_said(session: Session) -> None:
    with pytest.raises(PatternError, match="nothing on the table"):
        _ = session.draft

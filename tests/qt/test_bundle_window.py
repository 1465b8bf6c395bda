"""A session leaves as one file by a key, and comes back by name, by dropping and by choosing."""

from __future__ import annotations

from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication

from valvebench import compose
from valvebench.archive.verify import verify


def drop(window, path):
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(path))])
    action, button, key = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    QApplication.sendEvent(window, QDragEnterEvent(QPoint(9, 9), action, mime, button, key))
    QApplication.sendEvent(window, QDropEvent(QPointF(9, 9), action, mime, button, key))


def test_a_bundle_is_written_by_a_key_and_opened_by_dropping_it(open_window, sample, tmp_path):
    person = open_window(sample("healthy-spare"))
    person.window.show_page("Job")
    person.key(Qt.Key.Key_B, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    (sent,) = [tmp_path / f"{person.window.folder.name}.zip"]
    person.wait(lambda: person.job.finish.words().startswith(f"Bundle written to {sent}"))
    head = person.window.desk.session.head
    assert verify(sent, head=head).ok
    drop(person.window, sent)
    person.wait(lambda: person.window.folder.name == f"{sent.stem}-2")
    assert verify(person.window.folder, head=head).ok
    line = person.window.trouble_line
    number, _, digits = head.partition(":")
    assert line.words().endswith(f"Hold its head against the one you were given: {number}:{digits[:16]}")


def test_a_bundle_is_opened_from_the_first_page(open_window, sample, tmp_path):
    sent = tmp_path / "sent by mail.zip"
    compose.write_bundle(sample("in-work"), sent)
    person = open_window()
    page = person.window.start_page
    page.open.ask_for_file = lambda *_: str(sent)
    page.open.bundle_button.setFocus()
    person.key(Qt.Key.Key_Space)
    person.wait(person.judged)
    assert person.window.folder == tmp_path / "sent-by-mail"


def test_a_damaged_bundle_is_told_and_makes_nothing(open_window, sample, tmp_path):
    sent = tmp_path / "sent.zip"
    compose.write_bundle(sample("in-work"), sent)
    sent.write_bytes(sent.read_bytes().replace(b"Wren", b"Tern").replace(b"demo", b"Demo", 1))
    person = open_window()
    before = set(tmp_path.iterdir())
    page = person.window.start_page
    page.folder.set_text(str(sent))
    page.folder.entry.setFocus()
    person.key(Qt.Key.Key_Return)
    person.wait(lambda: "not as it was written" in page._said.words())
    assert set(tmp_path.iterdir()) - before <= {tmp_path / "settings"}

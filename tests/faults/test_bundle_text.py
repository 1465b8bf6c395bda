"""Any text goes through a bundle and comes out as it was typed."""

from __future__ import annotations

import pytest

from tests.corpora import naughty_strings
from tests.fakes.writers import PICTURE
from valvebench import compose
from valvebench.archive.bundle import bundle_of, write_bundle
from valvebench.archive.bundle_open import open_bundle
from valvebench.model.entry import Note, Reading

OWN = [
    " ", "=1+1", "+1", "-1", "@x", "\t", "\r\n", "\x00", "\x1b[31m", "\u202eabc", "\u200b", "\ufeff", "\u2028",
    "\U0001f600", "e\u0301", "\u00e9", "../../x", "C:\\x", "'; DROP TABLE x; --", "<img src=x>", "</script>", "%s%n",
    "${x}", "NaN", "null", '"', "\\", "\\u0000", "A" * 9_999, "\u6d4b\u8bd5", "\u0645\u0631\u062d\u0628\u0627",
]  # fmt: skip
"""Invented; the corpus holds more."""


def there_and_back(tmp_path, strings: list[str], figure) -> None:
    job = tmp_path / "job"
    name = next(text for text in strings if text)[:200]
    desk = compose.create_job(job, {"job": name, "customer": strings[-1], "session": name}, by=name)
    for text in strings:
        desk.by = text or "Wren"
        desk.record(Note(text=text or "empty"))
        desk.record(Reading(from_node="1", to_node="2", ohm=5.0, celsius=20.0, note=text, meter_id=text))
        desk.add_photo(PICTURE, file_name=text[:200] or "p.png", of=text)
    desk.release()
    write_bundle(job, tmp_path / "sent.zip")
    open_bundle(tmp_path / "sent.zip", tmp_path / "back")
    before, after = compose.view_session(job).session, compose.view_session(tmp_path / "back").session
    assert after.entries == before.entries
    notes = [item.body.text for item in after.items if isinstance(item.body, Note)]
    assert notes == [text or "empty" for text in strings]
    assert bundle_of(tmp_path / "back")[0] == (tmp_path / "sent.zip").read_bytes()
    figure(19, f"{len(strings)} of {len(strings)} strings through journal and bundle")


def test_our_own_strings(tmp_path, figure):
    there_and_back(tmp_path, OWN, figure)


@pytest.mark.parametrize("share", [5, pytest.param(1, marks=pytest.mark.study)], ids=["every fifth", "all"])
def test_every_naughty_string(ram_path, share, figure):
    strings = naughty_strings()
    assert len(strings) == 515
    there_and_back(ram_path, strings[::share], figure)


@pytest.mark.parametrize(
    "name", [text for text in OWN if "/" not in text and "\0" not in text and len(text) < 99], ids=ascii
)
def test_a_file_of_any_name_becomes_a_folder_with_a_plain_one(tmp_path, name):
    job = tmp_path / "job"
    compose.create_job(job, {"job": "J1"}, by="Wren").release()
    sent, root = tmp_path / f"{name}.zip", tmp_path / "jobs"
    root.mkdir()
    write_bundle(job, sent)
    made = compose.take_in_bundle(sent, root)
    assert made.parent == root
    assert set(made.name) <= {sign for sign in made.name if sign.isalnum() or sign in "-_"}
    assert compose.take_in_bundle(sent, root) != made

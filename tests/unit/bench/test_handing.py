"""Tag and e-mail: what they say of a closed session, and that the head is never left out."""

from __future__ import annotations

import dataclasses
import re

import pytest

from tests.unit.report.samples import session_of, variant
from valvebench.bench.handing import TAG_FORMAT, TagFacts, head_text, mail_text, tag_facts, tag_text
from valvebench.model.entry import Close, OpenJob, Outcome
from valvebench.model.errors import BadInput

HEX = "0123456789abcdef" * 4


def closed(**job):
    given = {"session": "s-1", "job": "T-1"} | job
    return session_of(Close(verdict="fail", scope="3 of 4 electrical, 1 failed"), job=OpenJob(**given))


def facts(**more):
    given = {"job": "T-1", "session": "s-1", "head": f"45:{HEX}", "closed_at": "x", "closed_by": "Ada", "verdict": "v"}
    return TagFacts(**(given | more))


def test_an_open_session_has_no_tag():
    with pytest.raises(BadInput, match="Close it first: the tag carries its head"):
        tag_facts(session_of(), variant())


def test_a_tag_says_what_the_session_says():
    session = closed(serial="S-9", part="QT-2", mark="dot of paint")
    found = tag_facts(session, variant())
    assert found == TagFacts(
        job="T-1",
        session="s-1",
        head=session.head,
        closed_at="2031-05-06T08:02:00Z",
        closed_by="Ada",
        verdict="Fail: 3 of 4 electrical, 1 failed",
        variant="Quillon Tern, test body",
        part="QT-2",
        serial="S-9",
        mark="dot of paint",
    )


def test_what_follows_closing_does_not_change_the_tag():
    session = closed()
    after = session_of(session.close.body, Outcome(fitted=True), job=session.job)
    assert tag_facts(after, None).head == session.head


def test_the_code_is_lines_of_a_word_and_its_text():
    assert tag_text(facts()) == f"valvebench tag 1\njob T-1\nsession s-1\nhead 45:{HEX}"


@pytest.mark.parametrize(
    ("job", "told"), [("a\nb", "a b"), (" a\t\tb ", "a b"), ("\u00c4 7", "\u00c4 7"), ("a\x00b", "a b")]
)
def test_a_name_is_one_line(job, told):
    assert tag_text(facts(job=job)).splitlines()[1] == f"job {told}"


@pytest.mark.parametrize(
    ("more", "lines"),
    [({"job": "x" * 200}, 3), ({"job": "x" * 200, "session": "\u00c4" * 150}, 2), ({"job": "\u00c4" * 120}, 3)],
)
def test_a_name_too_long_is_left_out_and_the_head_never(more, lines):
    found = tag_text(facts(**more)).splitlines()
    assert (found[0], found[-1], len(found)) == (TAG_FORMAT, f"head 45:{HEX}", lines)


def test_the_head_can_be_read_out_in_groups_of_sixteen():
    assert head_text(f"45:{HEX}") == "45:" + " ".join(["0123456789abcdef"] * 4)


def test_the_mail_names_head_session_and_the_command_that_checks():
    text = mail_text(tag_facts(closed(), variant()))
    head = closed().head
    for expected in (
        f"Head: {head}\n",
        "Session: s-1\n",
        f"valvebench verify SESSION --head {head}\n",
        "line 2 of the",
    ):
        assert expected in text
    assert "Fail: 3 of 4 electrical, 1 failed." in text
    assert re.search(r"[^\x20-\x7e\n]", text) is None, "plain letters survive every mail program"


def test_a_mail_without_variant_and_serial_has_no_gap():
    assert mail_text(facts()).splitlines()[0] == "Record of bench test, job T-1"
    assert dataclasses.replace(facts(), serial="9").serial in mail_text(facts(serial="9"))

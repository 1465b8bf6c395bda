"""`valvebench verify`: head and tail, what is seen with and without a head, exit codes."""

from __future__ import annotations

import hashlib

import pytest

KEYS = {"ok", "entries", "head", "tail", "closed", "anchors", "problems"}


def digest(line):
    return hashlib.sha256(line).hexdigest()


@pytest.fixture
def four(record, lines):
    """Four lines: the job, two remarks, a reading."""
    record("note", "one")
    record("note", "two")
    record("reading", "--from", "1", "--to", "2", "--ohm", "5.2", "--celsius", "20")
    return lines()


def rewrite(job, lines):
    (job / "journal.jsonl").write_bytes(b"".join(line + b"\n" for line in lines))


def test_whole(run, job, four):
    data = run("verify", job, "--json").data
    assert set(data) >= KEYS
    assert (data["ok"], data["entries"], data["tail"], data["closed"]) == (True, 4, 0, False)
    assert data["head"] == f"4:{digest(four[3])}"
    assert (data["anchors"], data["problems"]) == ([], [])


def test_head_stays_at_the_closing(run, job, record, lines):
    record("close")
    head = f"2:{digest(lines()[1])}"
    record("outcome", "--fitted", "yes")
    record("anchor", "--kind", "tag_handed_over", "--to", "Quay Line")
    data = run("verify", job, "--head", head, "--json").data
    assert (data["head"], data["tail"], data["closed"], data["entries"]) == (head, 2, True, 4)
    assert data["anchors"][0]["kind"] == "tag_handed_over"
    assert run("judge", job, "--json").data["head"] == head


def test_sixteen_digits_are_enough(run, job, four):
    assert run("verify", job, "--head", f"4:{digest(four[3])[:16]}").code == 0
    assert run("verify", job, "--head", f"4:{digest(four[3])[:16].upper()}").code == 0


def test_a_head_of_an_earlier_line(run, job, four):
    assert run("verify", job, "--head", f"2:{digest(four[1])}").code == 0


def test_another_head(run, job, four):
    answer = run("verify", job, "--head", f"4:{'0' * 16}", "--json")
    assert (answer.code, answer.data["ok"]) == (4, False)
    assert answer.data["problems"][0]["line"] == 4


def test_a_head_beyond_the_end(run, job, four):
    answer = run("verify", job, "--head", f"5:{'0' * 16}", "--json")
    assert (answer.code, answer.data["problems"][0]["line"]) == (4, 5)


@pytest.mark.parametrize(
    "head", ["", "4", "4:", "4:0123", "4:xyzxyzxyzxyzxyzx", "0:" + "0" * 16, "-1:" + "0" * 16, "4:" + "0" * 65]
)
def test_malformed_heads(run, job, head):
    answer = run("verify", job, f"--head={head}")
    assert (answer.code, answer.out) == (2, "")
    assert "16" in answer.err


CHANGES = {
    "a value": lambda x: [x[0], x[1].replace(b"one", b"won"), *x[2:]],
    "a name": lambda x: [x[0].replace(b"Ann", b"Ben"), *x[1:]],
    "two swapped": lambda x: [x[0], x[2], x[1], x[3]],
    "one gone": lambda x: [x[0], *x[2:]],
    "first gone": lambda x: x[1:],
    "one twice": lambda x: [x[0], x[1], x[1], *x[2:]],
    "no JSON": lambda x: [x[0], b"{", *x[2:]],
}


@pytest.mark.parametrize("name", CHANGES)
def test_changes_are_seen_without_a_head(run, job, four, name):
    rewrite(job, CHANGES[name](four))
    answer = run("verify", job, "--json")
    assert (answer.code, answer.data["ok"]) == (4, False)
    assert answer.data["problems"]
    assert set(answer.data["problems"][0]) >= {"line", "what"}


def test_a_changed_last_line_needs_the_head(run, job, four):
    head = f"4:{digest(four[3])}"
    rewrite(job, [*four[:3], four[3].replace(b"5.2", b"5.3")])
    blind = run("verify", job, "--json")
    assert blind.code == 0
    assert any("last line" in note for note in blind.data["notes"])
    assert run("verify", job, "--head", head).code == 4


def test_a_dropped_last_line_needs_the_head(run, job, four):
    head = f"4:{digest(four[3])}"
    rewrite(job, four[:3])
    assert run("verify", job).code == 0
    assert run("verify", job, "--head", head).code == 4


def test_the_text_says_so_too(run, job, four):
    assert "Without --head" in run("verify", job).out
    rewrite(job, four[1:])
    answer = run("verify", job)
    assert answer.out.startswith("NOT as it was written")
    assert "line 1" in answer.out


def test_a_changed_picture(run, job, record, picture):
    record("photo", picture, "--of", "plug")
    blob = next(path for path in (job / "blobs").iterdir() if path.read_bytes() == picture.read_bytes())
    blob.write_bytes(b"\x89PNG\r\n\x1a\nanother")
    answer = run("verify", job, "--json")
    assert (answer.code, answer.data["problems"][0]["line"]) == (4, 2)


def test_a_missing_variant(run, job):
    for blob in (job / "blobs").iterdir():
        blob.unlink()
    answer = run("verify", job, "--json")
    assert (answer.code, answer.data["problems"][0]["line"]) == (4, 1)


def test_a_torn_last_line_does_not_count(run, job, four):
    path = job / "journal.jsonl"
    path.write_bytes(path.read_bytes() + four[3][:40])
    answer = run("verify", job, "--json")
    assert (answer.code, answer.data["entries"]) == (0, 4)
    assert any("torn" in note for note in answer.data["notes"])


def test_the_journal_itself_may_be_named(run, job):
    assert run("verify", job / "journal.jsonl").code == 0


def test_an_empty_journal(run, job):
    (job / "journal.jsonl").write_bytes(b"")
    answer = run("verify", job, "--json")
    assert (answer.code, answer.data["head"]) == (4, None)


def test_no_session(run, tmp_path):
    answer = run("verify", tmp_path / "none")
    assert (answer.code, answer.out) == (2, "")


def test_verifying_changes_nothing(run, job, four, everything):
    before = everything()
    run("verify", job)
    assert everything() == before

"""`valvebench archive`: stable answers, exit codes, and refusals in words."""

from __future__ import annotations

import json

import pytest

from tests.data.archived import add_to, reading, session_in
from valvebench.cli.archive import WORDS, progress
from valvebench.compose import open_desk
from valvebench.model.entry import Outcome
from valvebench.model.words import AnchorKind, Comeback


@pytest.fixture
def shelf(tmp_path):
    return tmp_path / "shelf"


@pytest.fixture
def ask(run, shelf):
    """A word of the archive, answered as JSON."""

    def ask_it(*words):
        return run("archive", "--at", shelf, *words, "--json")

    return ask_it


@pytest.fixture
def filled(ask, tmp_path):
    first = session_in(tmp_path, "2301", serial="QV-0418", customer="Harbour", day="2031-03-01")
    second = session_in(tmp_path, "2350", [reading("Heron", 6.0)], comeback_of="2301", day="2031-07-01")
    answer = ask("add", first, second)
    assert answer.code == 0
    return [one["id"] for one in answer.data["added"]]


def test_adding_keeps_and_anchors(filled, ask, tmp_path):
    (again,) = ask("add", tmp_path / "2301").data["added"]
    assert (again["change"], again["id"], again["job"]) == ("nothing", filled[0], "2301")
    desk = open_desk(tmp_path / "2301")
    assert [one.kind for one in desk.session.anchors] == [AnchorKind.OWN_ARCHIVE]
    desk.release()


def test_without_an_anchor_the_session_stays_as_it_is(ask, tmp_path):
    folder = session_in(tmp_path, "2301")
    before = (folder / "journal.jsonl").read_bytes()
    assert ask("add", folder, "--no-anchor").code == 0
    assert (folder / "journal.jsonl").read_bytes() == before


def test_one_that_does_not_verify_keeps_no_other_out(ask, tmp_path):
    bad, good = session_in(tmp_path, "bad"), session_in(tmp_path, "good")
    path = bad / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b"5.2", b"5.3", 1))
    answer = ask("add", bad, good)
    assert answer.code == 4
    assert [one["job"] for one in answer.data["added"]] == ["good"]
    assert "does not verify" in answer.data["problems"][0]["what"]
    assert ask("add", tmp_path / "nothing").code == 2


def test_an_open_session_is_listed(ask, tmp_path):
    folder = session_in(tmp_path, "2399", is_closed=False)
    (added,) = ask("add", folder).data["added"]
    assert (added["change"], added["id"]) == ("open", None)
    (one,) = ask("find").data["open"]
    assert (one["job"], one["path"], one["state"]) == ("2399", str(folder), "open")


def test_finding(filled, ask):
    found = ask("find", "qv-04").data
    assert found["next"] is None
    (one,) = found["sessions"]
    assert one == {
        "id": filled[0],
        "job": "2301",
        "serial": "QV-0418",
        "part": None,
        "customer": "Harbour",
        "variant": "tern-body-2",
        "verdict": "not_finished",
        "outcome": None,
        "closed_at": "2031-03-01T09:00:04.000Z",
        "revised": False,
    }
    assert [one["job"] for one in ask("find", "--verdict", "fail").data["sessions"]] == ["2350"]
    assert [one["job"] for one in ask("find", "--since", "2031-06-01").data["sessions"]] == ["2350"]
    page = ask("find", "--most", "1").data
    assert [one["job"] for one in ask("find", "--most", "1", "--after", page["next"]).data["sessions"]] == ["2301"]
    assert ask("find", "nothing", "of", "the", "kind").data["sessions"] == []
    assert ask("find", "--", "-- *").code == 0


def test_showing_with_links_and_outcome(filled, ask, tmp_path):
    add_to(tmp_path / "2301", Outcome(fitted=True, comeback=Comeback.COLD, months=4))
    assert ask("add", tmp_path / "2301").data["added"][0]["change"] == "tail"
    shown = ask("show", filled[0][:8]).data
    assert (shown["ok"], shown["outcome"], shown["told"]["months"]) == (True, "comeback_cold", 4.0)
    assert [(link["job"], link["how"]) for link in shown["links"]] == [("2350", "came_back_as")]
    assert shown["head"].startswith("4:")
    assert [one["kind"] for one in shown["anchors"]] == ["own_archive"]


def test_a_folder_written_from_the_archive_is_a_session(filled, ask, run, tmp_path):
    answer = ask("show", filled[0], "--to", tmp_path / "again")
    assert answer.data["folder"] == str(tmp_path / "again")
    assert run("verify", tmp_path / "again", "--head", answer.data["head"]).code == 0
    assert run("judge", tmp_path / "again").code == 3


def test_trend_and_judging_anew(filled, ask):
    found = ask("trend", "tern-body-2", "Heron").data
    assert (found["ref_celsius"], len(found["points"])) == (20.0, 2)
    assert [(month["month"], month["n"], month["failed"]) for month in found["months"]] == [
        ("2031-03", 1, 0),
        ("2031-07", 1, 1),
    ]
    done = ask("rejudge", "--variant", "tern-body-2", "--device", "Heron", "--low", "5,5", "--high", "6.5").data
    assert (done["sessions"], done["readings"]) == (2, 3)
    assert {(one["from"], one["to"]): one["sessions"] for one in done["changed"]} == {
        ("not_finished", "fail"): 1,
        ("fail", "not_finished"): 1,
    }
    assert [one["verdict"] for one in ask("show", filled[0]).data["judgements"]] == ["fail"]
    assert ask("rejudge").code == 2
    assert ask("trend", "tern-body-2", "Hero").code == 2


def test_backup_restore_rebuild_verify_export(filled, ask, run, tmp_path, shelf):
    assert ask("backup", tmp_path / "b.backup").data["sessions"] == 2
    restored = run("archive", "restore", tmp_path / "b.backup", "--at", tmp_path / "new", "--json")
    assert (restored.code, restored.data["ok"], restored.data["folder"]) == (0, True, str(tmp_path / "new"))
    assert ask("rebuild").data["sessions"] == 2
    assert ask("verify").data["ok"] is True
    assert ask("export", tmp_path / "csv").data["files"] == 2
    assert run("archive", "restore", tmp_path / "b.backup", "--at", shelf).code == 2


def test_what_is_not_as_it_was_written_has_its_own_exit_code(filled, ask, tmp_path):
    from tests.data.archived import DayClock
    from valvebench.archive.store import Store

    store = Store(tmp_path / "shelf", clock=DayClock())
    store.database.execute("UPDATE journal SET bytes = CAST(replace(CAST(bytes AS TEXT), '5.3', '5.2') AS BLOB)")
    store.close()
    checked = ask("verify")
    assert (checked.code, checked.data["ok"]) == (4, False)
    assert {one["job"] for one in checked.data["problems"]} == {"2301"}
    assert ask("show", filled[0]).code == 4
    assert ask("show", filled[1]).code == 0


@pytest.mark.parametrize("words", [word for word in WORDS if word not in ("add", "restore")], ids=lambda word: word)
def test_nothing_but_adding_makes_an_archive(run, shelf, words):
    needs = {
        "show": ["0123"],
        "trend": ["a", "b"],
        "export": ["x"],
        "backup": ["x"],
        "rejudge": ["--rule", "plain"],
        "claim": ["0123", "--xlsx", str(shelf.parent / "claim.xlsx")],
        "learn": ["a", "b"],
    }
    answer = run("archive", "--at", shelf, words, *needs.get(words, []))
    assert answer.code == 2
    assert "Adding a session makes one" in answer.err
    assert not shelf.exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "expected one of add, find"),
        (("fnd",), "Did you mean find"),
        (("push", "somewhere"), "none is shared over a server"),
        (("init-server", "x"), "archive backup"),
        (("--at", "postgresql://host/x", "find"), "a folder: none is shared over a server"),
        (("find", "--verdict", "good"), "expected one of pass"),
        (("find", "--since", "soon"), "2031-05-06"),
        (("add",), "archive add"),
    ],
)
def test_refusals_in_words(run, shelf, words, said):
    answer = run("archive", "--at", shelf, *words) if words[:1] != ("--at",) else run("archive", *words)
    if "--since" in words:
        session_in(shelf.parent, "x")
        run("archive", "--at", shelf, "add", shelf.parent / "x")
        answer = run("archive", "--at", shelf, *words)
    assert answer.code == 2
    assert said in answer.err
    assert "Traceback" not in answer.err


def test_without_a_place_the_archive_of_this_computer_is_meant(run, tmp_path, monkeypatch):
    monkeypatch.setenv("VALVEBENCH_SETTINGS", str(tmp_path / "own"))
    assert run("archive", "add", session_in(tmp_path, "2301")).code == 0
    assert (tmp_path / "own" / "archive" / "archive.sqlite").is_file()
    assert json.loads(run("archive", "find", "--json").out)["sessions"][0]["job"] == "2301"


def test_for_a_person(filled, run, shelf, tmp_path):
    add_to(tmp_path / "2301", Outcome(comeback=Comeback.HOT, months=4, odometer_km=61_000))
    run("archive", "--at", shelf, "add", tmp_path / "2301")
    run("archive", "--at", shelf, "rejudge", "--rule", "plain", "--why", "asked for")
    found = run("archive", "--at", shelf, "find").out
    assert "2031-03-01  2301         Not finished  came back, hot" in found
    shown = run("archive", "--at", shelf, "show", filled[0]).out
    assert "outcome: came back, hot, after 4 months, at 61000 km" in shown
    assert "came back as job 2350, closed 2031-07-01" in shown
    assert "(Plain comparison; asked for): Not finished" in shown
    assert "as it was written: 6 entries" in shown
    assert (
        "Heron of tern-body-2: 2 values [ohm] at 20 °C"
        in run("archive", "--at", shelf, "trend", "tern-body-2", "Heron").out
    )


def test_a_script_hears_no_progress(capsys):
    step = progress("pages")
    assert [step(1, 2), step(2, 2)] == [True, True]
    assert capsys.readouterr().err == ""


def test_a_person_does(capsys, monkeypatch):
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    step = progress("pages")
    step(1, 2)
    step(2, 2)
    assert capsys.readouterr().err == "\rpages: 1 of 2\rpages: 2 of 2\n"

"""Any text may be typed: 515 naughty strings through every field, and back as they were."""

from __future__ import annotations

import json
from collections.abc import Iterator

import msgspec
import pytest

from tests.corpora import naughty_strings
from tests.data.made_air import leak_test, sweep_test
from tests.fakes.writers import LOG, PICTURE, RUN, new_job
from valvebench import compose
from valvebench.__main__ import main
from valvebench.archive.verify import verify
from valvebench.model.entry import BODY_OF_KIND, Anchor, Close, Correct, Note, Reading, Withdraw, body_from, sha256_of
from valvebench.model.errors import BadInput
from valvebench.model.words import AnchorKind

LONGEST_NAME = 200
NOT_FILLED = {
    ("reading", "to"),
    ("air", "came_out_at"),
    ("flex", "to"),
    ("flex", "file_name"),
    ("flex", "column"),
    ("leak", "file_name"),
    ("leak", "gauge"),
    ("leak", "device"),  # a leak is of a port or of a seat: the seat's has its own test
    ("pressure", "gauge"),
}
GRAMMAR = {
    "meter",
    "volts_meter",
    "sha256",
    "variant",
    "session",
    "program",
    "revises",
}  # texts with a form, or our own
NEEDED = {
    "reading": {"from": "1", "to": "2", "ohm": 5.4, "celsius": 23.0},
    "meter-check": {"check_ohm": 5.0, "read_ohm": 5.2, "zero_read_ohm": 0.2},
    "air": {"port": "P1", "place": "body", "result": "pass"},
    "switch": {"device": "Reel", "state": "open"},
    "solenoid": {"device": "Heron", "click": True},
    "feature": {"name": "plate mark", "value": "dot"},
    "fluid": {"colour": "red"},
    "note": {"text": "x"},
    "complaint": {"when": "hot"},
    "heat-run": msgspec.to_builtins(RUN),
    "flex": {"from": "1", "to": "2", "ohm": [5.2]},
    "leak": msgspec.to_builtins(leak_test("P3")),
    "pressure": {"tap": "Line", "kpa_gauge": 450.0, "fluid_celsius": 80.0, "state": "idle"},
    "sweep": {**msgspec.to_builtins(sweep_test("Heron")), "sha256": sha256_of(LOG), "size_bytes": len(LOG)},
}


def text_fields(kind: str) -> list[str]:
    """Names, as files spell them, of all fields of a kind that take free text."""
    information = msgspec.inspect.type_info(BODY_OF_KIND[kind])
    return [field.encode_name for field in information.fields if _takes_text(field.type) and field.name not in GRAMMAR]


def _takes_text(kind) -> bool:
    members = kind.types if isinstance(kind, msgspec.inspect.UnionType) else (kind,)
    return any(isinstance(member, msgspec.inspect.StrType) for member in members)


def filled(kind: str, text: str) -> dict:
    """A body with the text in every text field; the nodes of a reading and the ports of air must differ."""
    fields = [name for name in text_fields(kind) if (kind, name) not in NOT_FILLED]
    return NEEDED[kind] | dict.fromkeys(fields, text)


def is_welcome(kind: str, text: str) -> bool:
    """A name has 1 to 200 characters; a note and a fluid must say something."""
    has_name = kind in (
        "reading",
        "air",
        "switch",
        "solenoid",
        "feature",
        "heat-run",
        "flex",
        "leak",
        "pressure",
        "sweep",
    )
    return (len(text) <= LONGEST_NAME if has_name else True) and (text != "" or kind == "meter-check")


def test_the_corpus_is_whole_and_every_kind_has_its_text():
    assert len(naughty_strings()) == 515
    with_text = {kind for kind in BODY_OF_KIND if text_fields(kind)}
    elsewhere = {"open-job", "photo", "correct", "withdraw", "close", "anchor"}
    assert with_text == set(NEEDED) | elsewhere


@pytest.mark.parametrize("kind", NEEDED)
def test_every_text_field_of_a_data_entry(ram_path, kind, figure):
    job = ram_path / "job"
    desk = new_job(job)
    desk.keep_picture(LOG)
    sent = {}
    for text in naughty_strings():
        try:
            body = body_from(kind, filled(kind, text))
        except BadInput:
            assert not is_welcome(kind, text), text
        else:
            assert is_welcome(kind, text), text
            sent[desk.record(body).n] = body
    desk.release()
    again = compose.view_session(job).session
    assert {item.n: item.body for item in again.items if item.n > 3} == sent
    figure(19, f"{kind}: 515 strings in each text field, {len(sent)} back as typed, the others refused in words")
    assert verify(job).ok


def test_a_leak_at_the_seat_of_a_solenoid_of_any_name(ram_path):
    at_a_port = msgspec.to_builtins(leak_test("P3"))
    at_a_seat = {name: value for name, value in at_a_port.items() if name != "port"}
    desk = new_job(ram_path / "job")
    sent = {}
    for text in (text for text in naughty_strings() if is_welcome("leak", text)):
        body = body_from("leak", at_a_seat | {"device": text})
        sent[desk.record(body).n] = body
    desk.release()
    again = compose.view_session(ram_path / "job").session
    assert {item.n: item.body for item in again.items if item.n in sent} == sent
    assert len(sent) > 500


def test_reasons_and_people_and_pictures(ram_path):
    job = ram_path / "job"
    desk = new_job(job)
    sent = []
    for text in naughty_strings():
        desk.by = text or "Wren"
        photo = desk.add_photo(PICTURE, file_name=text[:LONGEST_NAME] or "p.png", of=text)
        sent += [photo, desk.correct(photo.n, {"of": text + "!"}, text or "slip"), desk.withdraw(photo.n, text)]
    desk.close()
    for text in naughty_strings():
        sent.append(desk.record(Anchor(kind=AnchorKind.SENT_TO_CUSTOMER, to=text)))
    desk.release()
    again = compose.view_session(job).session
    assert [entry for entry in again.entries[3:] if not isinstance(entry.body, Close)] == sent
    assert {type(entry.body).__name__ for entry in sent} == {"Photo", "Correct", "Withdraw", "Anchor"}
    assert all(entry.body.why for entry in sent if isinstance(entry.body, Correct))
    assert any(entry.body.why for entry in sent if isinstance(entry.body, Withdraw))


def job_of(text: str) -> dict:
    """A job with the text in every field; a reason to revise an earlier session is one only if it says something."""
    fields = [name for name in text_fields("open-job") if name not in ("job", "revises_why")]
    revision = {"revises": "0" * 32, "revises_why": text} if text else {}
    return {"job": text[:LONGEST_NAME] or "J1", **dict.fromkeys(fields, text), **revision}


def variant_of(text: str) -> dict:
    name = text[:LONGEST_NAME] or "x"
    source = {"kind": "manual", "text": text}
    return {
        "format": 1,
        "key": "tern",
        "title": name,
        "note": text,
        "faces": [{"name": name}],
        "pins": [{"name": "pin " + name[:100], "face": name}],
        "devices": [{"name": name, "kind": "link", "between": ["a", "b"], "note": text, "source": source}],
        "isolation": {"min_ohm": 1e6, "source": source},
        "ports": [{"name": name, "feeds": text, "expect": [{"selector": text, "reaction": "holds", "at": name}]}],
        "clutches": [text],
        "gears": [text],
        "apply_chart": {text: [text]},
        "features": [{"name": name, "values": [text], "this": text, "ask": text, "ask_phone": text}],
        "part_numbers": [{"number": "QT " + name[:100], "superseded_by": text}],
        "order_with": [text],
        "fasteners": [{"place": name}],
        "fluid": {"by": "dipstick", "kind": text},
        "checklist": [text],
    }


def test_every_text_of_a_job_and_of_a_variant(ram_path):
    for number, text in enumerate(naughty_strings()):
        job = ram_path / str(number)
        data = variant_of(text)
        raw = json.dumps(data, ensure_ascii=False).encode()
        compose.create_job(job, job_of(text), variant_raw=raw, by=text).release()
        view = compose.view_session(job)
        told = msgspec.to_builtins(view.session.job)
        assert {name: told.get(name, "") for name in job_of(text)} == job_of(text)
        assert holds(msgspec.to_builtins(view.variant), data), text


def holds(found, wanted) -> bool:
    """Whether everything wanted is in what was found, which may say more."""
    if isinstance(wanted, dict):
        return all(holds(found.get(key, ""), value) for key, value in wanted.items())
    if isinstance(wanted, list):
        return len(found) == len(wanted) and all(holds(*pair) for pair in zip(found, wanted, strict=True))
    return found == wanted


def commands(job, text: str) -> Iterator[tuple[list[str], str, dict[str, str]]]:
    """Command, kind and the text fields that must come back."""
    yield ["note", "--", text], "note", {"text": text}
    reading = ["--from=1", "--to=2", "--ohm=5.4", "--celsius=23", f"--note={text}", f"--meter-id={text}"]
    yield ["reading", *reading], "reading", {"note": text, "meter_id": text}
    air = ["--place=body", "--result=pass", f"--port={text}", f"--selector={text}", f"--gauge-id={text}"]
    yield ["air", *air, f"--note={text}"], "air", dict.fromkeys(("port", "selector", "gauge_id", "note"), text)
    switch = ["--state=open", f"--device={text}", f"--note={text}"]
    yield ["switch", *switch], "switch", {"device": text, "note": text}
    yield ["feature", f"--name={text}", f"--value={text}"], "feature", {"name": text, "value": text}
    fluid = [f"--{name}={text}" for name in ("colour", "smell", "level", "debris")]
    yield ["fluid", *fluid], "fluid", dict.fromkeys(("colour", "smell", "level", "debris"), text)


def is_welcome_option(kind: str, text: str) -> bool:
    return text.strip() != "" and (kind == "reading" or is_welcome(kind, text))  # its nodes are given


@pytest.mark.parametrize("share", [3, pytest.param(1, marks=pytest.mark.study)], ids=["a third each", "all of them"])
def test_every_text_option_of_record(ram_path, capsys, share):
    strings = naughty_strings()
    few = 10  # a command reads the whole journal each time
    for start in range(0, len(strings), few):
        job = ram_path / str(start)
        new_job(job).release()
        _record_by_command(job, strings[start : start + few], capsys, share)
        assert main(["judge", str(job)]) in (0, 1, 3)
        capsys.readouterr()
        assert main(["judge", str(job), "--json"]) in (0, 1, 3)
        json.loads(capsys.readouterr().out)
        assert main(["verify", str(job)]) == 0


def _record_by_command(job, strings, capsys, share):
    """Each text through one of `share` kinds, in turn."""
    sent = []
    for number, text in enumerate(strings):
        for command, kind, fields in list(commands(job, text))[number % share :: share]:
            by = [] if kind == "note" else [f"--by={text}"]
            code = main(["record", str(job), *command, *by])
            out, err = capsys.readouterr()
            if code == 0:
                sent.append((kind, fields))
                assert is_welcome_option(kind, text), (kind, text)
            else:
                assert code == 2
                assert out == ""
                assert err.startswith("valvebench: ")
                assert not is_welcome_option(kind, text), (kind, text, err)
    found = [item for item in compose.view_session(job).session.items if item.n > 3]
    assert len(found) == len(sent)
    for item, (kind, fields) in zip(found, sent, strict=True):
        told = msgspec.to_builtins(item.body)
        assert (item.kind, {name: told.get(name, "") for name in fields}) == (kind, fields)


ASKS = (["--version"], ["--help"])


def test_naughty_words_where_names_and_numbers_are_wanted(ram_path, capsys):
    job = ram_path / "job"
    desk = new_job(job)
    desk.record(Note(text="x"))
    desk.release()
    before = {path: path.read_bytes() for path in ram_path.rglob("*") if path.is_file()}
    for text in naughty_strings():
        for words in (
            [text],
            ["record", str(job), text],
            ["record", str(job), "correct", f"--entry={text}", "--why=x"],
            ["reading", f"--ohm={text}", "--celsius=x"],
            ["reading", "--ohm=5", "--celsius=23", f"--meter={text}"],
            ["reading", "--ohm=5", "--celsius=23", f"--leads={text}"],
            ["verify", str(job), f"--head={text}"],
            ["open-job", str(job), "--job=1", f"--variant={text}"],
        ):
            if words in ASKS:
                continue
            code = main(words)
            out, err = capsys.readouterr()
            assert (code, out) == (2, ""), words
            assert err.startswith("valvebench: "), words
    assert {path: path.read_bytes() for path in ram_path.rglob("*") if path.is_file()} == before
    assert [type(item.body) for item in compose.view_session(job).session.items] == [Reading, Note, Note]

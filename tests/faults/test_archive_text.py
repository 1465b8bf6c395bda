"""Anything may be typed: into sessions that the archive keeps, and into what looks for them."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import msgspec
import pytest

from tests.corpora import naughty_strings
from tests.data.archived import session_in
from tests.fakes.archive_sessions import Sessions
from tests.fakes.archive_writers import opened
from valvebench.__main__ import main
from valvebench.archive.store import Store
from valvebench.archive.store_words import plain_words
from valvebench.bench.archived import Again, Asked, Fate
from valvebench.model.entry import Note
from valvebench.model.errors import BadInput
from valvebench.model.words import Rule, Verdict

# Own strings: signs that mean something to LIKE, to the language of FTS5, to SQL, to a shell, to a screen.
SIGNS = (
    *("%", "_", "%%%", "a%b_c", "\\%", "*", "he*", "*he", '"', '""', '"heron', "'", "''", "'; DROP TABLE journal;--"),
    *("(", ")", "((", "a AND", "AND", "OR OR", "NOT", "a NOT b", "NEAR(a b)", "NEAR", "^heron", "w:heron", "w : x"),
    *("-heron", "+heron", "QV-0418", "5HV-20105-B", "1e2", "{a}", "{a b}: c", "heron\x00gull", "\x00", "\x01", "\x7f"),
    *(
        "\t",
        "\r\n",
        " ",
        "",
        "\u200b",
        "\u202eheron",
        "\u00ad",
        "\ufeffheron",
        "\ue000v0",
        "\ue000",
        "\ufffe",
        "\U0010ffff",
    ),
    *(
        "stra\u00dfe",
        "STRASSE",
        "\u0130stanbul",
        "\ufb01sh",
        "e\u0301",
        "\u00e9",
        "\u6d4b\u8bd5",
        "\u0661\u0662",
        "\u2167",
    ),
    *(
        "\U0001f527",
        "\U0001f468\u200d\U0001f469",
        "\u0e01\u0e33",
        "\u05e9\u05b8",
        "$1",
        ":1",
        "?",
        "?1",
        "@x",
        "#",
        "a;b",
    ),
    *("x" * 64, "x" * 65, "\u00df" * 64, "heron " * 500, "a" * 5000, "-" * 300, "a-" * 200, "NULL", "nan", "inf", "-1"),
)
HALF = ("\ud800", "heron\udfff", "\ud83d")
"""Half a sign: no keyboard makes one, a script can."""
MOST_PAGES, LONGEST_JOB, DAY = 40, 200, "2031-01-01"


class Texts:
    """An archive with one session for each text, in which it is a note; all of it in memory."""

    def __init__(self, place: Path, texts: list[str]) -> None:
        self.store = opened(place / "archive")
        made = Sessions(place, 23)
        self.of: dict[str, str] = {}
        for number, text in enumerate(texts):
            prepared = made.prepared(made.closed(f"T{number}", note=text))
            self.store.keep(prepared)
            self.of[prepared.indexed.key.hex()] = text


def found_by(store: Store, asked: Asked) -> list[str]:
    """Every session on all pages, and no page twice."""
    found: list[str] = []
    for _ in range(MOST_PAGES):
        page = store.find(asked)
        found += [one.id for one in page.sessions]
        if page.next is None:
            assert len(found) == len(set(found))
            return found
        asked = msgspec.structs.replace(asked, after=page.next)
    raise AssertionError("pages without end")


def is_found(store: Store, text: str, ident: str) -> bool:
    """Whether what was typed as it stands finds its own session; without any word it finds all of them."""
    return ident in found_by(store, Asked(text=text, most=200))


def all_texts(share: int) -> list[str]:
    """The own strings, and every so-many-th of the public ones where they are beside the checkout."""
    try:
        public = naughty_strings()[::share]
    except pytest.skip.Exception:
        public = []
    return [*SIGNS, *public]


@pytest.mark.parametrize("share", [25, pytest.param(1, marks=pytest.mark.study)], ids=["some", "all"])
def test_every_text_is_kept_as_typed_and_finds_its_own_session(ram_path, share, figure):
    texts = Texts(ram_path, all_texts(share))
    store, lost, changed = texts.store, [], []
    for ident, text in texts.of.items():
        notes = [item.body.text for item in store.view(ident).session.items if isinstance(item.body, Note)]
        if notes != ([text] if text else []):
            changed.append(text)
        if not is_found(store, text, ident):
            lost.append(text)
    without = sum(not plain_words(text) for text in texts.of.values())
    assert store.verify().ok
    store.close()
    count = len(texts.of)
    figure(19, f"archive: {count - len(changed)} of {count} notes come back as typed, everything verified")
    figure(23, f"{count - len(lost)} of {count} own records found ({without} without a word find all), 0 errors")
    assert (lost, changed) == ([], [])


@pytest.mark.parametrize("share", [25, pytest.param(1, marks=pytest.mark.study)], ids=["some", "all"])
def test_every_filter_takes_every_text(ram_path, share, figure):
    """A filter that has no such value finds nothing, a day or a page that is none is refused in words: never more."""
    store = opened(ram_path / "archive")
    made = Sessions(ram_path, 24)
    for number in range(3):
        store.keep(made.prepared(made.closed(f"F{number}", customer="heron gull")))
    asked, refused, errors = 0, 0, []
    texts = [*all_texts(share), *HALF]
    choices = itertools.cycle(itertools.product([None, *Verdict], [None, *Fate], [None, "tern-body-2"]))
    for text in texts:
        verdict, fate, variant = next(choices)
        questions = (
            Asked(text=text),
            Asked(text=text, verdict=verdict, outcome=fate, variant=variant, since=DAY),
            Asked(variant=text),
            Asked(text="heron", variant=text, verdict=verdict),
            Asked(since=text),
            Asked(text=text, after=text),
            Asked(after=text),
        )
        for question in questions:
            asked += 1
            try:
                store.find(question)
            except BadInput:
                refused += 1
                if question.after is None and question.since in (None, DAY):
                    errors.append(question)
    assert store.verify().ok
    assert len(found_by(store, Asked())) == 3
    store.close()
    figure(23, f"{asked} questions, {refused} days or pages that are none refused in words, {len(errors)} errors")
    assert errors == []


def test_identities_devices_and_judgements_take_every_text(ram_path, figure):
    store = opened(ram_path / "archive")
    made = Sessions(ram_path, 25)
    store.keep(made.prepared(made.closed("1")))
    calls = 0
    for text in (*SIGNS, *HALF):
        for call in (
            lambda text=text: store.show(text),
            lambda text=text: store.view(text),
            lambda text=text: store.trend(text, text),
            lambda text=text: store.trend("tern-body-2", text),
            lambda text=text: store.trend("tern-body-2", "Heron", at=text),
            lambda text=text: store.rejudge(Again(variant=text, device=text, low_ohm=1.0, high_ohm=2.0)),
            lambda text=text: store.rejudge(Again(since=text, low_ohm=1.0)),
        ):
            calls += 1
            with pytest.raises(BadInput):
                call()
    assert store.rejudge(Again(rule=Rule.PLAIN, why=HALF[1])).sessions == 1
    store.close()
    figure(23, f"{calls} calls with a name that is none: all refused in words")


NAMES = ("job", "serial", "part", "customer")


@pytest.mark.parametrize("share", [4, pytest.param(1, marks=pytest.mark.study)], ids=["one of four", "all"])
def test_every_name_of_a_job_is_shown_as_typed_and_finds_it(ram_path, share, figure):
    """The first three are also looked up as a whole code."""
    store, made, lost = opened(ram_path / "archive"), Sessions(ram_path, 26), []
    texts = [text for text in SIGNS if 0 < len(text) <= LONGEST_JOB]
    pairs = list(itertools.product(texts, NAMES))[:: 1 if share == 1 else share + 1]  # another name with each text
    for text, name in pairs:
        prepared = made.prepared(made.closed(**{"job": "J", name: text}))
        store.keep(prepared)
        shown = store.show(prepared.indexed.key.hex()).session
        if getattr(shown, name) != text or not is_found(store, text, shown.id):
            lost.append((text, name))
    assert store.verify().ok
    store.close()
    figure(23, f"{len(pairs)} jobs, serials, parts and customers shown as typed and found, {len(lost)} not")
    assert lost == []


def test_the_command_takes_every_text(ram_path, capsys, figure):
    at = str(ram_path / "archive")
    assert main(["archive", "add", "--at", at, str(session_in(ram_path / "jobs", "1"))]) == 0
    capsys.readouterr()
    texts = [text for text in SIGNS if "\x00" not in text]  # no system hands one to a program
    for number, text in enumerate(texts):
        words = (["--", text], [f"--variant={text}"], [f"--since={text}"], [f"--after={text}"])[number % 4]
        code = main(["archive", "find", "--at", at, "--json", *words])
        out, err = capsys.readouterr()
        assert code in (0, 2), (code, words)
        assert json.loads(out) if code == 0 else err.startswith("valvebench: "), words
    figure(23, f"archive find: {len(texts)} command lines, each answered or refused in words")

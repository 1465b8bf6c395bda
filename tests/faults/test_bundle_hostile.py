"""Bundles made to do harm: each is refused in words, nothing is written anywhere, nothing is left."""

from __future__ import annotations

import io
import json
import os
import random
import re
import stat
import struct
import zipfile

import pytest

from tests.corpora import json_files
from tests.fakes.bundles import closed_job, files_of, packed_anew, with_journal, zipped
from valvebench.__main__ import main
from valvebench.archive import bundle_open
from valvebench.archive.bundle import bundle_of
from valvebench.archive.bundle_form import JOURNAL_MEMBER, MANIFEST_NAME, packed
from valvebench.archive.bundle_open import checked
from valvebench.model.entry import sha256_of
from valvebench.model.errors import BenchError
from valvebench.model.strict_json import dumps

BAD_INPUT, NOT_VERIFIED = 2, 4
LONG = "blobs/" + "a" * 200


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    return bundle_of(closed_job(tmp_path_factory.mktemp("good") / "job"))[0]


def members(good: bytes) -> list[tuple[str, bytes]]:
    with zipfile.ZipFile(io.BytesIO(good)) as found:
        return [(name, found.read(name)) for name in found.namelist()]


def info(name: str, *, rights: int = 0, method: int = zipfile.ZIP_STORED) -> zipfile.ZipInfo:
    made = zipfile.ZipInfo(name)
    made.compress_type = method
    made.create_system = 3
    made.external_attr = rights << 16
    return made


def also(name, raw=b"harm", **more):
    """The good bundle with one more file in it."""
    return lambda good: zipped(*members(good), (info(name, **more), raw))


def patched(good: bytes, offset: int, form: str, value: int) -> bytes:
    """A field of every entry of the list at the end changed."""
    raw = bytearray(good)
    place = raw.index(b"PK\x01\x02")
    while raw[place : place + 4] == b"PK\x01\x02":
        struct.pack_into(form, raw, place + offset, value)
        place += 46 + sum(struct.unpack_from("<3H", raw, place + 28))
    return bytes(raw)


def twin(good):
    with pytest.warns(UserWarning, match="Duplicate name"):
        return zipped(*members(good), (JOURNAL_MEMBER, b"other"))


def hidden_name(good):
    """Its list is harmless; the manifest and what stands before the file name another place."""
    first, *rest = files_of(good)
    name, raw = rest[0]
    outside = "../../" + name.removeprefix("blobs/")
    changed = packed_anew([first, (outside, raw), *rest[1:]])
    start = changed.index(b"PK\x01\x02")
    return changed[:start] + changed[start:].replace(outside.encode(), name.encode())


def many(good):
    return zipped(*members(good), *((f"blobs/{number:064x}", b"") for number in range(1_000)))


def long_list(good):
    """It says that it lists more than its list holds."""
    end = good.rindex(b"PK\x05\x06")
    return good[: end + 8] + struct.pack("<2H", 60_000, 60_000) + good[end + 12 :]


def wide_list(good):
    end = good.rindex(b"PK\x05\x06")
    return good[: end + 12] + struct.pack("<I", 0xFFFF_FFF0) + good[end + 16 :]


HOSTILE = {
    "up": also("../up.txt"),
    "up from the blobs": also("blobs/../../up.txt"),
    "up with backslashes": also("..\\up3.txt"),
    "top of the disk": also("/etc/top.txt"),
    "another drive": also("C:/win.txt"),
    "another drive, backslash": also("C:\\win.txt"),
    "network": also("\\\\server\\share\\file"),
    "backslash": also("blobs\\file"),
    "link": also("blobs/" + "0" * 64, b"/etc/passwd", rights=stat.S_IFLNK | 0o777),
    "folder": also("blobs/", b"", rights=stat.S_IFDIR | 0o755),
    "device": also("blobs/" + "1" * 64, b"", rights=stat.S_IFCHR | 0o666),
    "twin": twin,
    "twin by case": also("Journal.jsonl"),
    "twin by writing": also("\uff4dournal.jsonl".replace("\uff4d", "\uff4a")),
    "device of old": also("CON"),
    "device with an ending": also("blobs/nul.txt"),
    "too long a name": also(LONG),
    "no name": also(" "),
    "no file of a bundle": also("readme.txt"),
    "lock": also("lock"),
    "temporary file": also(".save-0123"),
    "packed in packed": also("inner.zip", zipped(("a", b"a"))),
    "encrypted": lambda good: patched(good, 8, "<H", 1),
    "hidden list": lambda good: patched(good, 8, "<H", 0x2000),
    "a thousand to one": also("blobs/" + "2" * 64, bytes(10**6), method=zipfile.ZIP_DEFLATED),
    "compressed": lambda good: zipped(*members(good), method=zipfile.ZIP_DEFLATED),
    "packed anew": lambda good: zipped(*members(good)),
    "said to be smaller": lambda good: patched(good, 24, "<I", 1),
    "said to be larger": lambda good: patched(good, 20, "<I", 2**31),
    "at another place": lambda good: patched(good, 42, "<I", 7),
    "extra fields": lambda good: patched(good, 30, "<H", 4),
    "another disk": lambda good: patched(good, 34, "<H", 1),
    "a name hidden from the list": hidden_name,
    "too many files": many,
    "a list too long": long_list,
    "a list too wide": wide_list,
    "a remark at the end": lambda good: zipped(*members(good), comment=b"hello"),
    "something before": lambda good: b"#!/bin/sh\n" + good,
    "something after": lambda good: good + b"\0",
    "cut short": lambda good: good[:-1],
    "half of it": lambda good: good[: len(good) // 2],
    "nothing": lambda good: b"",
    "an empty zip": lambda good: zipped(),
    "text": lambda good: b"journal" * 100,
    "only the manifest": lambda good: zipped(members(good)[0]),
    "no manifest": lambda good: zipped(*members(good)[1:]),
    "manifest last": lambda good: zipped(*members(good)[1:], members(good)[0]),
    "without a file": lambda good: packed_anew(files_of(good)[:-1]),
    "with a file that no entry names": lambda good: packed_anew(
        [files_of(good)[0], *sorted([*files_of(good)[1:], ("blobs/" + "0" * 63 + "f", b"harm")])]
    ),
    "in another order": lambda good: packed_anew([*files_of(good)[1:], files_of(good)[0]]),
    "a file under another hash": lambda good: packed_anew([*files_of(good)[:-1], (files_of(good)[-1][0], b"other")]),
    "another manifest": lambda good: packed([(MANIFEST_NAME, b'{"bundle":1}\n'), *files_of(good)]),
    "a journal without entries": lambda good: packed([members(good)[0], *with_journal(files_of(good), b"")]),
}


def tree(folder):
    return {path: path.read_bytes() if path.is_file() else None for path in folder.rglob("*")}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_bundle_is_refused_and_leaves_nothing(good, ram_path, capsys, name):
    deep = ram_path / "a" / "b"
    deep.mkdir(parents=True)
    (ram_path / "journal.jsonl").write_bytes(b"not mine")
    bundle = deep / "sent.zip"
    bundle.write_bytes(HOSTILE[name](good))
    before = tree(ram_path)
    code = main(["open-bundle", str(bundle), "--to", str(deep / "back")])
    out, err = capsys.readouterr()
    assert (code in (BAD_INPUT, NOT_VERIFIED), out) == (True, ""), err
    assert err.startswith("valvebench: ")
    assert err.count("\n") == 1
    assert "Nothing was opened" in err, err
    assert tree(ram_path) == before
    assert main(["verify", str(bundle)]) in (BAD_INPUT, NOT_VERIFIED)


@pytest.mark.parametrize("name", HOSTILE)
def test_its_bytes_alone_would_refuse_it(good, name, monkeypatch):
    """Without the first look: nothing gets through that is not, byte for byte, a bundle."""
    monkeypatch.setattr(bundle_open, "look", lambda file, *, source: file.seek(0, os.SEEK_END))
    with pytest.raises(BenchError):
        checked(io.BytesIO(HOSTILE[name](good)), source="sent.zip")


SAID = {
    "up": "outside the folder",
    "up with backslashes": "a backslash",
    "top of the disk": "at the top of the disk",
    "another drive": "on another drive",
    "link": "a link, a folder or a device",
    "twin": "one name twice",
    "device of old": "the name of a device",
    "too long a name": "a name of 206 signs",
    "packed in packed": "a packed file in a packed file",
    "encrypted": "encrypted",
    "hidden list": "encrypted",
    "a thousand to one": "1000000 bytes packed into",
    "compressed": "compressed; in a bundle nothing is",
    "too many files": "at most 1000 files",
    "a list too long": "at most 1000 files",
    "a list too wide": "at most 1000 files",
    "no manifest": "does not begin with manifest.json",
    "cut short": "cut short or has something after its end",
}


@pytest.mark.parametrize("name", SAID)
def test_what_is_wrong_is_said(good, name):
    with pytest.raises(BenchError) as refusal:
        checked(io.BytesIO(HOSTILE[name](good)), source="sent.zip")
    assert SAID[name] in str(refusal.value)


def told_otherwise(good: bytes, **other: object) -> bytes:
    """A manifest that tells something else, all else as it was."""
    told = json.loads(members(good)[0][1]) | other
    return packed([(MANIFEST_NAME, dumps(told) + b"\n"), *files_of(good)])


@pytest.mark.parametrize(
    "other", [{"session": "0" * 32}, {"entries": 7}, {"head": "1:" + "0" * 64}, {"head": "8:" + "0" * 64}], ids=str
)
def test_a_manifest_that_tells_of_another_session_is_refused(good, other):
    assert not refused(told_otherwise(good))
    assert refused(told_otherwise(good, **other))


def test_a_file_that_is_not_what_the_manifest_names_is_refused(good):
    """Its own check sum fits, only the hash does not: the tail of the journal, which no head covers, and a blob."""
    files = files_of(good)
    *lines, last, end = files[0][1].split(b"\n")
    tail = b"\n".join([*lines, last.replace(b"counter", b"COUNTER"), end])
    assert len(tail) == len(files[0][1])
    for number, raw in ((0, tail), (1, files[1][1][::-1])):
        changed = [*files[:number], (files[number][0], raw), *files[number + 1 :]]
        assert refused(packed([members(good)[0], *changed]))


def test_the_good_one_is_opened(good, tmp_path, capsys, figure):
    (tmp_path / "sent.zip").write_bytes(good)
    assert main(["open-bundle", str(tmp_path / "sent.zip"), "--to", str(tmp_path / "back")]) == 0
    assert "as it was packed" in capsys.readouterr().out
    assert len(HOSTILE) >= 12
    figure(22, f"{len(HOSTILE)} hostile bundles, each refused by name and by its bytes alone, nothing left")


def refused(raw: bytes) -> bool:
    try:
        checked(io.BytesIO(raw), source="sent.zip")
    except BenchError:
        return True
    return False


@pytest.mark.parametrize("corpus", ["json_parsing", "json_transform"])
def test_no_corpus_file_passes_as_manifest_or_journal(good, corpus, figure):
    """JSONTestSuite: 318 and 22 files."""
    paths = json_files(corpus)
    for path in paths:
        raw = path.read_bytes()
        assert refused(packed([(MANIFEST_NAME, raw), *files_of(good)])), path.name
        assert refused(fitting(good, raw)), path.name
    figure(18, f"{corpus}: {len(paths)} files as manifest and as journal of a bundle, all refused")


def fitting(good: bytes, journal: bytes) -> bytes:
    """Another journal, and a manifest with its size and hash."""
    files = with_journal(files_of(good), journal)
    told = json.loads(members(good)[0][1])
    told["members"][0] |= {"bytes": len(journal), "sha256": sha256_of(journal)}
    return packed([(MANIFEST_NAME, dumps(told) + b"\n"), *files])


BAD_JSON = {
    "not a number": b"NaN",
    "infinite": b"-Infinity",
    "overflow": b"1e400",
    "too large to keep": b"9007199254740993",
    "thousands of digits": b"1" * 5_000,
    "twice": b'{"bundle":1,"bundle":1}',
    "half a character": b'"\\ud800"',
    "no text": b"\xff",
    "deep": b"[" * 100_000,
    "deep and closed": b"[" * 65 + b"]" * 65,
    "after the end": b"{} {}",
    "a comma": b"[1,]",
    "a remark": b"{} // x",
    "single quotes": b"{'a':1}",
    "leading nought": b"[01]",
    "mark of byte order": b"\xef\xbb\xbf{}",
    "cut": b'{"bundle":',
    "nothing": b"",
    "list": b"[]",
    "true for one": b'{"bundle":true}',
    "one and a bit": b'{"bundle":1.0}',
}


@pytest.mark.parametrize("name", BAD_JSON)
@pytest.mark.parametrize("place", ["manifest", "session", "bytes"])
def test_bad_json_is_refused_wherever_it_stands(good, name, place):
    manifest = members(good)[0][1]
    changed = {
        "manifest": BAD_JSON[name],
        "session": manifest.replace(b'"session":"', b'"session":' + BAD_JSON[name] + b',"x":"', 1),
        "bytes": re.sub(rb'(?<="bytes":)\d+', lambda _: BAD_JSON[name], manifest, count=1),
    }[place]
    assert refused(packed([(MANIFEST_NAME, changed), *files_of(good)]))


@pytest.mark.parametrize("name", BAD_JSON)
def test_bad_json_in_a_journal_is_refused_though_the_manifest_fits(good, name):
    lines = dict(files_of(good))[JOURNAL_MEMBER].split(b"\n")
    assert refused(fitting(good, b"\n".join([*lines[:2], BAD_JSON[name], *lines[3:]])))
    assert not refused(fitting(good, b"\n".join(lines)))


@pytest.mark.parametrize("trials", [300, pytest.param(20_000, marks=pytest.mark.study)])
def test_noise_is_refused_and_never_a_fault_of_ours(good, trials, figure):
    """Bytes changed, cut out, doubled or put in at random: only our own errors come out."""
    chance = random.Random(trials)
    for _ in range(trials):
        raw = bytearray(good)
        for _ in range(chance.randint(1, 4)):
            place, length = chance.randrange(len(raw)), chance.randint(1, 64)
            piece = chance.choice((b"", chance.randbytes(length), raw[place : place + length] * 2, b"PK\x01\x02"))
            raw[place : place + (length if chance.random() < 0.7 else 0)] = piece
        assert bytes(raw) == good or refused(bytes(raw))
    figure(22, f"{trials} bundles with noise, all refused")

"""A bundle checked by a program that knows only what the guide says and has only Python's own library."""

from __future__ import annotations

import ast
import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.external import check_bundle
from tests.external.check_bundle import check
from tests.fakes.bundles import closed_job, files_of, packed_anew, rebuilt, with_journal
from tests.fakes.writers import new_job
from valvebench import compose
from valvebench.archive.bundle import bundle_of
from valvebench.archive.bundle_form import JOURNAL_MEMBER
from valvebench.archive.bundle_open import open_bundle, verify_bundle

SCRIPT = Path(check_bundle.__file__)
DATA = Path(__file__).parents[1] / "data" / "bundles"
NOT_SO = (ValueError, KeyError, IndexError, TypeError, AttributeError, check_bundle.struct.error)
"""What a short program without messages of its own says of what is not as described."""


@pytest.fixture(scope="module")
def raw(tmp_path_factory):
    return bundle_of(closed_job(tmp_path_factory.mktemp("good") / "job"))[0]


def run(*words) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-I", str(SCRIPT), *map(str, words)], check=False, capture_output=True, text=True
    )


def test_it_is_short_and_uses_nothing_else():
    tree = ast.parse(SCRIPT.read_text("utf-8"))
    imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    assert imported <= set(sys.stdlib_module_names)
    assert not [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    code = [
        line for line in SCRIPT.read_text("utf-8").splitlines() if line.strip() and not line.startswith(('"', "import"))
    ]
    assert len(code) <= 60


def test_good_bundles_and_a_damaged_one_by_command(raw, tmp_path):
    (tmp_path / "good.zip").write_bytes(raw)
    head = verify_bundle(tmp_path / "good.zip").head
    assert run(tmp_path / "good.zip", head).returncode == 0
    (tmp_path / "bad.zip").write_bytes(raw.replace(b"5.4", b"5.5"))
    answer = run(tmp_path / "bad.zip")
    assert answer.returncode == 1
    assert "ValueError: journal.jsonl" in answer.stderr
    assert run(tmp_path / "good.zip", f"{head.partition(':')[0]}:{'0' * 16}").returncode == 1


def test_every_sample_job(tmp_path):
    for sample in compose.sample_jobs():
        check(bundle_of(sample.path)[0])


def test_an_open_session(tmp_path):
    new_job(tmp_path / "job").release()
    check(bundle_of(tmp_path / "job")[0])


@pytest.mark.parametrize("path", sorted(DATA.glob("*.zip")), ids=lambda path: path.name)
def test_a_bundle_of_every_released_format_is_opened_for_ever(path, tmp_path):
    check(path.read_bytes(), "7:de615b432e90202b")
    found = open_bundle(path, tmp_path / "back", head="7:de615b432e90202b")
    assert (found.entries, found.is_closed, found.tail) == (8, True, 1)
    assert compose.view_session(tmp_path / "back").session.job.job == "2301"
    assert bundle_of(tmp_path / "back")[0] == path.read_bytes()


@pytest.mark.parametrize("share", [2_000, pytest.param(None, marks=pytest.mark.study)], ids=["some bits", "every bit"])
def test_it_sees_every_bit(raw, share, record_property):
    bits = range(8 * len(raw)) if share is None else random.Random(share).sample(range(8 * len(raw)), share)
    for bit in bits:
        changed = bytearray(raw)
        changed[bit // 8] ^= 1 << bit % 8
        with pytest.raises(NOT_SO):
            check(bytes(changed))
    told = f"{len(bits)} of {8 * len(raw)} bits of a bundle flipped, 0 missed by the program that follows the guide"
    record_property("row 14", told)


def test_a_chain_made_anew_needs_the_head_as_the_guide_says(raw, tmp_path):
    (tmp_path / "good.zip").write_bytes(raw)
    head = verify_bundle(tmp_path / "good.zip").head
    lines = dict(files_of(raw))[JOURNAL_MEMBER].split(b"\n")[:-1]

    def better(entry):
        if entry["kind"] == "reading":
            entry["body"]["ohm"] = 5.5

    forged = packed_anew(with_journal(files_of(raw), rebuilt(lines, better)))
    check(forged)
    with pytest.raises(ValueError, match="another head"):
        check(forged, head)


def test_the_guide_tells_what_the_program_checks():
    page = (compose.guide_folder() / "evidence.md").read_text("utf-8")
    kinds = re.search(r"`sha256` of (.*?)\. A correction", page)[1]
    assert set(re.findall(r"`([a-z-]+)`", kinds)) == set(check_bundle.FILES)
    assert shutil.which(sys.executable)

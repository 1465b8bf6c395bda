"""Every changing call of the C library below a folder fails, is short or is the last one: the preload sweep.

What the sweep over Python's own calls cannot reach, this does: whatever library makes the call.
"""

from __future__ import annotations

import pytest

from tests.fakes.all_writers import LONG, SHIM_WRITERS
from tests.fakes.shim import MODES, build, run_in_shim, sweep_in_shim

SHORT_FORM = ("EIO-sticky", "half", "die-after")
EVERY = 25


@pytest.fixture(scope="module")
def shim(tmp_path_factory):
    return build(tmp_path_factory.mktemp("shim"))


def no_harm(shim, place, writers, modes, figure, every=1) -> None:
    told = sweep_in_shim(shim, place, writers, modes, every)
    assert [one["writer"] for one in told] == list(writers)
    for one in told:
        some = f", every {every}th tried" if every > 1 else ""
        told = f"{one['writer']}: {one['points']} calls of the library{some}, {one['trials']} trials"
        figure(2, f"{told} in {len(modes)} modes, {len(one['violations'])} violations")
        assert not one["violations"], "\n".join(one["violations"])
        assert one["trials"] >= len(modes), "the sweep met no calls"


def test_no_fault_of_the_library_does_harm(shim, ram_path, figure):
    no_harm(shim, ram_path, [name for name in SHIM_WRITERS if name not in LONG], SHORT_FORM, figure)


def test_no_fault_of_the_library_harms_the_archive(shim, ram_path, figure):
    no_harm(shim, ram_path, sorted(LONG), SHORT_FORM, figure, every=EVERY)


@pytest.mark.study
@pytest.mark.parametrize("writer", SHIM_WRITERS)
def test_no_fault_of_the_library_does_harm_in_any_mode(shim, ram_path, writer, figure):
    no_harm(shim, ram_path, [writer], MODES, figure)


PLANTED = {
    "in place": "path.write_bytes(raw)",
    "a sync tried again": "FOUND_BY_SWEEP['a sync is tried again'](path, raw)",
    "an error swallowed": "with contextlib.suppress(OSError): path.write_bytes(raw)",
    "no clean-up": "t = path.with_name('.save-x'); t.unlink(missing_ok=True); t.write_bytes(raw); t.replace(path)",
}
SWEEP_PLANTED = """
import contextlib, sys
from pathlib import Path
from tests.fakes.bad_savers import FOUND_BY_SWEEP
from tests.fakes.shim import ShimFaults
from tests.fakes.sweep import sweep
from tests.fakes.writers import OLD, file_writer

for number, how in enumerate(sys.argv[2:]):
    place = Path(sys.argv[1]).resolve() / str(number)
    place.mkdir()
    names = {"contextlib": contextlib, "FOUND_BY_SWEEP": FOUND_BY_SWEEP}
    exec("def bad(path, raw, **_):\\n    " + how, names)
    writer = file_writer("planted", old=OLD, save=names["bad"])
    swept = sweep(writer, place, ("EIO", "half", "die-half"), faults=ShimFaults)
    print(len(swept.violations))
"""


def test_planted_faults_are_found(shim, ram_path, figure):
    counts = run_in_shim(shim, "-c", SWEEP_PLANTED, str(ram_path), *PLANTED.values())
    found = dict(zip(PLANTED, counts, strict=True))
    figure(2, f"planted faults, violations found: {', '.join(f'{name} {count}' for name, count in found.items())}")
    figure(7, f"a planted second sync: {found['a sync tried again']} violations; in the sweeps of rows 1 and 2 none")
    assert all(int(count) > 0 for count in counts)


def test_the_shim_lets_all_calls_through_while_it_is_not_armed(shim, tmp_path):
    code = "import sys; from pathlib import Path; p = Path(sys.argv[1]) / 'f'; p.write_text('x'); p.unlink(); print(1)"
    assert run_in_shim(shim, "-c", code, str(tmp_path)) == ["1"]


DATABASE = """
import sqlite3, sys
from pathlib import Path
from tests.fakes.shim import ShimFaults

folder = Path(sys.argv[1]).resolve()
base = sqlite3.connect(folder / "x.sqlite")
base.execute("CREATE TABLE t (n)")
counting = ShimFaults(folder, 10**6, "EIO")
counting.arm()
with base:
    base.execute("INSERT INTO t VALUES (1)")
print(counting.calls)
counting.disarm()
failing = ShimFaults(folder, 1, "EIO-sticky")
failing.arm()
try:
    with base:
        base.execute("INSERT INTO t VALUES (2)")
except sqlite3.OperationalError as error:
    failing.disarm()
    print(error)
print(*base.execute("SELECT n FROM t").fetchall())
"""


def test_the_shim_reaches_a_library_that_python_cannot_patch(shim, ram_path):
    calls, error, rows = run_in_shim(shim, "-c", DATABASE, str(ram_path))
    assert int(calls) >= 5
    assert "unable to open" in error or "I/O error" in error
    assert rows == "(1,)"

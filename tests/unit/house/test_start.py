"""The starter, with a fake installer: what it makes, what it repeats, what it says."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

try:
    import resource
except ModuleNotFoundError:  # Windows; there the clock of the system is coarser
    resource = None

from starter import checks, demo, environment, interpreters, libraries, main, places
from starter.console import SetupFailed, is_worth_showing, short
from starter.environment import Environment, own_folder, ready

START = Path(places.CHECKOUT) / "resources" / "start.py"


class FakeInstaller:
    """Stands for `python -m venv` and `python -m pip`: makes what they make, remembers what was asked."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.pip_code = 0
        self.dies = False

    def __call__(self, command, *, log, env=None, shown=None):
        word = "venv" if "venv" in command else "pip"
        self.asked.append(word)
        if word == "venv":
            python = Path(command[-1]) / "bin" / "python"
            python.parent.mkdir(parents=True)
            python.touch()
        if word == "pip" and self.dies:
            raise KeyboardInterrupt
        return self.pip_code if word == "pip" else 0


@pytest.fixture
def installer(monkeypatch, tmp_path):
    fake = FakeInstaller()
    monkeypatch.setattr(environment, "run_logged", fake)
    locks = tmp_path / "lo ck"
    locks.mkdir()
    (locks / "requirements.txt").write_text("tiny==1\n")
    (locks / "requirements-test.txt").write_text("tiny==1\ntester==1\n")
    monkeypatch.setattr(environment, "LOCKS", locks)
    return fake


@pytest.fixture
def env(tmp_path):
    return Environment(folder=tmp_path / "a check out" / ".venv")


@pytest.mark.skipif(sys.platform == "win32", reason="the fake makes the folders of Linux and macOS")
class TestEnvironment:
    def test_is_made_in_a_path_with_spaces(self, installer, env):
        ready(env, "run")
        assert installer.asked == ["venv", "pip"]
        assert env.stamp("run").exists()

    def test_a_second_time_nothing_is_asked(self, installer, env):
        ready(env, "run")
        ready(env, "run")
        assert installer.asked == ["venv", "pip"]

    def test_an_interrupted_first_try_is_made_afresh(self, installer, env):
        installer.dies = True
        with pytest.raises(KeyboardInterrupt):
            ready(env, "run")
        leftover = env.folder / "half-made"
        leftover.touch()
        installer.dies = False
        ready(env, "run")
        assert not leftover.exists()
        assert installer.asked == ["venv", "pip", "venv", "pip"]

    def test_an_interrupted_update_is_made_afresh(self, installer, env):
        ready(env, "run")
        (environment.LOCKS / "requirements.txt").write_text("tiny==2\n")
        installer.dies = True
        with pytest.raises(KeyboardInterrupt):
            ready(env, "run")
        installer.dies = False
        ready(env, "run")
        assert installer.asked[-2:] == ["venv", "pip"]

    def test_another_lock_is_installed_into_the_same_environment(self, installer, env):
        ready(env, "run")
        (environment.LOCKS / "requirements.txt").write_text("tiny==2\n")
        ready(env, "run")
        assert installer.asked == ["venv", "pip", "pip"]

    def test_the_lock_for_tests_serves_the_program_too(self, installer, env):
        ready(env, "test")
        ready(env, "run")
        assert installer.asked == ["venv", "pip"]

    def test_another_interpreter_gets_a_fresh_one(self, installer, env):
        ready(env, "run")
        ready(Environment(folder=env.folder, base_version="3.99"), "run")
        assert installer.asked == ["venv", "pip", "venv", "pip"]

    def test_repair_makes_it_afresh(self, installer, env):
        ready(env, "run")
        ready(env, "run", repair=True)
        assert installer.asked == ["venv", "pip", "venv", "pip"]

    def test_a_failed_installation_says_where_the_log_is(self, installer, env):
        installer.pip_code = 1
        with pytest.raises(SetupFailed, match=r"log is .*start\.log"):
            ready(env, "run")
        assert not env.stamp("run").exists()


def test_an_environment_of_somebody_else_is_left_alone(tmp_path):
    (tmp_path / ".venv").mkdir()
    assert own_folder(tmp_path) == tmp_path / ".venv-valvebench"


@pytest.mark.parametrize(
    ("platform", "env", "expected"),
    [
        pytest.param("linux", {}, "/h/.local/share/valvebench", id="linux [XDG base directory, default]"),
        pytest.param("linux", {"XDG_DATA_HOME": "/d"}, "/d/valvebench", id="linux [XDG base directory]"),
        pytest.param("darwin", {}, "/h/Library/Application Support/valvebench", id="macos"),
        pytest.param("win32", {"LOCALAPPDATA": "/l"}, "/l/valvebench", id="windows"),
    ],
)
def test_folder_of_the_user(platform, env, expected):
    assert places.user_data_folder(platform=platform, env=env, home=Path("/h")) == Path(expected)


def test_a_read_only_checkout_falls_back_to_the_user(monkeypatch, tmp_path):
    monkeypatch.setattr(places, "can_write", lambda folder: False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "platform", "linux")
    assert places.base_folder(Path("/read only")).parent == tmp_path / "valvebench"


def test_an_empty_home_still_gives_a_folder(monkeypatch):
    monkeypatch.setenv("HOME", "")
    assert places.home_folder().is_absolute()


class TestWords:
    def test_nothing_means_run(self):
        assert main.read_words([]) == main.Wish(action="run")

    def test_the_rest_goes_to_pytest(self):
        wish = main.read_words(["test", "--study", "-k", "limits"])
        assert (wish.action, wish.pytest_arguments) == ("test", ("--study", "-k", "limits"))

    def test_repair_is_taken_out(self):
        assert main.read_words(["test", "--repair"]) == main.Wish(action="test", repair=True)

    def test_interpreters(self):
        assert main.read_words(["test", "--interpreters"]).action == "interpreters"

    def test_an_unknown_word_gets_one_message(self, capsys):
        assert main.main(["--bogus"]) == 2
        error = capsys.readouterr().err
        assert error.startswith("--bogus is not known here; expected")
        assert error.count("\n") == 1

    @pytest.mark.parametrize(
        "text", [r"py resources\start.py", "python3 resources/start.py", "Windows", "macOS", "Debian 12"]
    )
    def test_help_says_what_to_type_on_each_system(self, capsys, text):
        assert main.main(["--help"]) == 0
        assert text in capsys.readouterr().out


@pytest.mark.parametrize("version", [(2, 7), (3, 10), (3, 15)])
def test_an_interpreter_that_will_not_do_is_told_in_one_sentence(version):
    code = f"import sys; sys.path.insert(0, {str(START.parent)!r}); import start; print(start.unsuitable({version}))"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert f"this is {version[0]}.{version[1]}. Install one" in answer.stdout


def test_the_first_file_is_readable_for_old_interpreters():
    text = START.read_text(encoding="utf-8")
    assert 'f"' not in text
    assert "from __future__" not in text


class TestLibraries:
    def test_ldd_answer_names_the_missing_one(self):
        answer = "\tlibc.so.6 => /lib/libc.so.6 (0x1)\n\tlibxcb-cursor.so.0 => not found\n"
        assert libraries.missing_in(answer) == "libxcb-cursor.so.0"
        assert libraries.missing_in("\tlibc.so.6 => /lib/libc.so.6 (0x1)\n") == ""

    def test_without_the_right_to_install_the_exact_line_is_given(self, monkeypatch, installer, env):
        ready(env, "run")
        monkeypatch.setattr(sys, "platform", "linux")
        monkeypatch.setattr(libraries, "may_install", lambda: False)
        monkeypatch.setattr(libraries, "missing_library", lambda *_: "libxcb-cursor.so.0")
        with pytest.raises(SetupFailed) as failure:
            libraries.qt_ready(env, "window")
        assert "sudo apt-get install -y libegl1 libgl1" in str(failure.value)
        assert "libxcb-cursor0" in str(failure.value)

    def test_root_gets_them_installed_and_is_asked_once(self, monkeypatch, installer, env):
        ready(env, "run")
        answers, installed = iter(["libEGL.so.1", ""]), []
        monkeypatch.setattr(sys, "platform", "linux")
        monkeypatch.setattr(libraries, "may_install", lambda: True)
        monkeypatch.setattr(libraries, "missing_library", lambda *_: next(answers))
        monkeypatch.setattr(libraries, "apt_install", lambda packages, _env: installed.append(packages))
        libraries.qt_ready(env, "offscreen")
        libraries.qt_ready(env, "offscreen")
        assert installed == [libraries.OFFSCREEN_PACKAGES]

    def test_a_python_without_venv_gets_the_exact_line(self, monkeypatch, env):
        monkeypatch.setattr(libraries.importlib.util, "find_spec", lambda name: None)
        monkeypatch.setattr(libraries, "may_install", lambda: False)
        with pytest.raises(SetupFailed, match=r"sudo apt-get install -y python3\.\d+-venv"):
            libraries.venv_ready(env)


class TestDemo:
    @pytest.mark.parametrize(
        ("platform", "env", "expected"),
        [
            ("linux", {}, False),
            ("linux", {"DISPLAY": ":1"}, True),
            ("linux", {"WAYLAND_DISPLAY": "w"}, True),
            ("win32", {}, True),
            ("darwin", {}, True),
        ],
    )
    def test_display(self, platform, env, expected):
        assert demo.has_display(platform=platform, env=env) is expected

    def test_is_built_once_and_again_after_an_interruption(self, monkeypatch, tmp_path, env):
        monkeypatch.setattr(demo, "base_folder", lambda: tmp_path)
        built = []

        def run(_env, *words):
            built.append(words)
            Path(words[-1]).mkdir()
            return 0

        monkeypatch.setattr(demo, "_run", run)
        folder = demo.build_demo(env)
        demo.build_demo(env)
        assert len(built) == 1
        (folder / demo.FINISHED).unlink()
        demo.build_demo(env)
        assert len(built) == 2

    def test_another_state_of_the_program_gets_another_demo(self, tmp_path):
        (tmp_path / "valvebench").mkdir()
        source = tmp_path / "valvebench" / "a.py"
        source.write_text("a = 1\n")
        before = demo.source_mark(tmp_path)
        source.write_text("a = 2\n")
        assert demo.source_mark(tmp_path) != before

    def test_without_a_display_the_files_are_named(self, monkeypatch, tmp_path, env, capsys):
        (tmp_path / "job.xlsx").touch()
        (tmp_path / "pins.png").touch()
        monkeypatch.setattr(demo, "build_demo", lambda _env: tmp_path)
        monkeypatch.setattr(demo, "has_display", lambda **_: False)
        monkeypatch.setattr(demo, "draw_pictures", lambda *_: None)
        assert demo.show_demo(env) == 0
        said = capsys.readouterr().out
        assert str(tmp_path / "job.xlsx") in said
        assert str(tmp_path / "pins.png") in said


class TestSuite:
    def test_a_failed_lint_fails_the_run_though_the_tests_come_last(self, monkeypatch, env):
        ran = []
        monkeypatch.setattr(checks, "_python", lambda _env, words: ran.append(words) or int("ruff" in words))
        assert checks.run_suite(env, ()) == 1
        assert "pytest" in ran[-1]
        assert len(ran) == 5

    def test_failed_tests_fail_the_run(self, monkeypatch, env):
        monkeypatch.setattr(checks, "_python", lambda _env, words: int("pytest" in words))
        assert checks.run_suite(env, ()) == 1

    @pytest.mark.parametrize(
        ("arguments", "processors", "expected"),
        [((), 2, ("-n", "2")), ((), 1, ()), (("-n0",), 2, ()), (("--pdb",), 2, ()), ((), 64, ("-n", "4"))],
    )
    def test_workers(self, arguments, processors, expected):
        assert checks.worker_options(arguments, processors=processors)[:2] == expected


def test_this_interpreter_is_found_under_its_own_version():
    answer = interpreters._ask(Path(sys.executable))
    assert answer[0] == sys.version_info[:2]
    assert answer[2] == sys.version.strip()


@pytest.mark.parametrize(("line", "shown"), [("Collecting numpy==2", True), ("  Using cached x", False)])
def test_what_is_shown_of_the_installer(line, shown):
    assert is_worth_showing(line) is shown
    assert len(short("Collecting " + "x" * 500)) == 110


STANDARD = "import argparse, hashlib, json, pathlib, subprocess, venv"


def test_overhead_of_a_second_start():
    """From `python3 start.py` to the program: little more than an interpreter with its standard library takes."""
    pairs = [(timed("-c", STANDARD), timed(str(START), "--help") + timed_stamps()) for _ in range(5)]
    assert min(ours for _, ours in pairs) < 3 * min(bare for bare, _ in pairs)


def worked_s():
    """What this process and its children have used of a processor: a machine busy with others does not count."""
    if resource is None:
        return sum(os.times()[:4])
    used = [resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def timed(*words):
    began = worked_s()
    subprocess.run([sys.executable, *words], capture_output=True, check=True, env=dict(os.environ))
    return worked_s() - began


def timed_stamps():
    began = worked_s()
    demo.source_mark()
    environment.fingerprint(environment.lock_file("run"), version=sys.version)
    return worked_s() - began

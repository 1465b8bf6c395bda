"""The guide's page on commands and the commands themselves name the same things."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from valvebench.__main__ import main
from valvebench.bench.archived import Fate
from valvebench.cli.archive import WORDS
from valvebench.cli.main import COMMANDS
from valvebench.cli.options import EXIT_OF_VERDICT
from valvebench.cli.record import known_kinds
from valvebench.model import words

GUIDE = Path(__file__).parents[3] / "resources" / "guide" / "commands.md"
LISTS = (
    *(words.Verdict, words.Lean, words.Rule, words.LeadState, words.AccessPoint, words.TemperatureSource),
    *(words.JobKind, words.AirResult, words.Place, words.SwitchState, words.Flow, words.Seen),
    *(words.Comeback, words.ItemState),
)
# The answers of `judge` and `reading`; each key is one name in code style in the guide.
KEYS = (
    *("verdict", "lean", "plain_verdict", "can_decide", "ohm", "ohm_at_ref", "ref_celsius", "u_ohm_at_ref", "nu_eff"),
    *("k_coverage", "U_ohm_at_ref", "low_ohm", "high_ohm", "low_ohm_at_celsius", "high_ohm_at_celsius", "p_inside"),
    *("budget", "reasons", "advice", "scope", "closed", "anchors", "rows", "missing", "entries", "limit_source"),
    *("covers", "state", "head", "tail", "problems"),
)
OF_CORRECTIONS = {"--text", "--not-soaked", "--timed"}
"""Options of `correct` alone, for a note and a heat run; the entry decides which there are, so no help lists them."""
needs_guide = pytest.mark.skipif(not GUIDE.is_file(), reason="resources/guide/commands.md is not there")


def flags_in(text):
    return set(re.findall(r"(?<![\w-])--[a-z][a-z-]*[a-z]|(?<![\w-])--[a-z](?![\w-])", text))


def commands_in(text):
    return set(re.findall(r"(?<![\w/.-])valvebench ([a-z][a-z-]+)", code_of(text)))


def code_of(text):
    """What stands in code style: blocks and spans."""
    blocks = re.findall(r"```.*?```", text, re.DOTALL)
    spans = re.findall(r"`[^`\n]+`", re.sub(r"```.*?```", "", text, flags=re.DOTALL))
    return "\n".join((*blocks, *spans))


def has_word(text, word):
    return re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text) is not None


@pytest.fixture
def helps(capsys):
    """All help texts of the program."""
    calls = [[name] for name in COMMANDS if name != "record"] + [["record", "DIR", kind] for kind in known_kinds()]
    calls += [["archive", word] for word in WORDS]
    for call in calls:
        with pytest.raises(SystemExit):
            main([*call, "--help"])
    return capsys.readouterr().out


@pytest.fixture
def guide():
    return GUIDE.read_text("utf-8")


@needs_guide
def test_every_command_and_kind_is_in_the_guide(guide):
    code = code_of(guide)
    assert [name for name in (*COMMANDS, *known_kinds()) if not has_word(code, name)] == []


@needs_guide
def test_every_word_of_the_archive_is_in_the_guide(guide):
    code = code_of(guide)
    assert [word for word in (*WORDS, *(fate.value for fate in Fate)) if not has_word(code, word)] == []


@needs_guide
def test_every_option_is_in_the_guide(guide, helps):
    assert sorted(flags_in(helps) - flags_in(guide) - {"--help"}) == []


@needs_guide
def test_the_guide_names_no_other_option(guide, helps):
    assert sorted(flags_in(guide) - flags_in(helps) - {"--version"} - OF_CORRECTIONS) == []


@needs_guide
def test_the_guide_names_no_other_command(guide):
    assert sorted(commands_in(guide) - set(COMMANDS) - {"help"}) == []


@needs_guide
@pytest.mark.parametrize("closed_list", LISTS, ids=lambda kind: kind.__name__)
def test_every_word_is_in_the_guide(guide, closed_list):
    code = code_of(guide)
    assert [member.value for member in closed_list if not has_word(code, member.value)] == []


@needs_guide
def test_every_key_is_in_the_guide(guide):
    code = code_of(guide)
    assert [key for key in KEYS if not has_word(code, key)] == []


@needs_guide
def test_every_exit_code_is_in_the_guide(guide):
    assert [code for code in (*sorted(set(EXIT_OF_VERDICT.values())), 2, 4) if not has_word(guide, str(code))] == []


def test_the_scan_sees_what_is_planted():
    text = "Type `valvebench frob --blue` or\n```\nvalvebench judge --k 225\n```\nvalvebench said --no."
    assert commands_in(text) == {"frob", "judge"}
    assert flags_in(text) == {"--blue", "--k", "--no"}
    assert has_word(code_of(text), "judge")
    assert not has_word(code_of(text), "said")


def test_the_helps_name_options_of_every_kind(helps):
    assert flags_in(helps) >= {
        "--ohm",
        "--k",
        "--check-read",
        "--gauge-id",
        "--comeback-of",
        "--xlsx",
        "--head",
        "--why",
    }

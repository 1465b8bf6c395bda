"""`valvebench reading`: what is refused, with one message on standard error and exit code 2."""

from __future__ import annotations

import pytest

BASE = ("--celsius", "20")
ONE = ("--ohm", "5", *BASE)
CHECK = ("--check-ohm", "5", "--check-read", "5.2")

REFUSED = {
    "nothing": ((), "celsius"),
    "no value": (BASE, "reading"),
    "no temperature": (("--ohm", "5"), "--celsius"),
    "two values": ((*ONE, "--open", "--range-ohm", "400"), "more than one"),
    "open without range": ((*BASE, "--open"), "range-ohm"),
    "letters": (("--ohm", "five", *BASE), "'five'"),
    "not a number": (("--ohm", "nan", *BASE), "'nan'"),
    "infinite": (("--ohm", "inf", *BASE), "'inf'"),
    "too large": (("--ohm", "1e400", *BASE), "finite"),
    "grouped": (("--ohm", "1.234,5", *BASE), "'1.234,5'"),
    "negative": (("--ohm", "-5", *BASE), "-5"),
    "empty": (("--ohm", "", *BASE), "''"),
    "no word after the option": (("--ohm",), "--ohm"),
    "fahrenheit": (("--ohm", "5", "--celsius", "212"), "Fahrenheit"),
    "too cold": (("--ohm", "5", "--celsius", "-51"), "-51"),
    "limits crossed": ((*ONE, "--low", "6", "--high", "5"), "not above"),
    "negative limit": ((*ONE, "--low", "-1"), "-1"),
    "subtract without tips": ((*ONE, "--leads", "subtract"), "lead-ohm"),
    "tips with four wires": ((*ONE, "--leads", "four_wire", "--lead-ohm", "0.2"), "lead-ohm"),
    "tips with nulled": ((*ONE, "--leads", "nulled", "--lead-ohm", "0.2"), "lead-ohm"),
    "tips with neither": ((*ONE, "--lead-ohm", "0.2"), "lead-ohm"),
    "unknown lead state": ((*ONE, "--leads", "nuled"), "Did you mean nulled?"),
    "unknown rule": ((*ONE, "--rule", "proven"), "Did you mean proved?"),
    "unknown temperature": ((*ONE, "--temperature", "tape"), "taped"),
    "unknown preset": ((*ONE, "--meter-like", "tenth"), "Did you mean tenths?"),
    "meter and preset": ((*ONE, "--meter", "1%+2x0.1", "--meter-like", "tenths"), "not both"),
    "meter without counts": ((*ONE, "--meter", "1%"), "percent, counts and step"),
    "meter without step": ((*ONE, "--meter", "1%+2x0"), "step above zero"),
    "check resistor without tips": ((*ONE, *CHECK), "zero-read"),
    "check resistor not read": ((*ONE, "--check-ohm", "5", "--leads", "nulled"), "check-read"),
    "reading of no check resistor": ((*ONE, "--check-read", "5", "--leads", "nulled"), "check-ohm"),
    "check reads like the tips": ((*ONE, *CHECK, "--zero-read", "5.2"), "5.2"),
    "negative tolerance": ((*ONE, *CHECK, "--zero-read", "0.2", "--check-pct", "-1"), "-1"),
    "one voltage": ((*BASE, "--volts-x", "1", "--check-ohm", "5"), "volts-check"),
    "voltages without resistor": ((*BASE, "--volts-x", "1", "--volts-check", "1"), "check-ohm"),
    "voltages beside ohm": ((*ONE, "--volts-x", "1", "--volts-check", "1", "--check-ohm", "5"), "more than one"),
    "no voltage": ((*BASE, "--volts-x", "1", "--volts-check", "0", "--check-ohm", "5"), "volts-check"),
    "two temperatures": ((*ONE, "--temperature", "taped", "--celsius-accuracy", "2"), "one of temperature"),
    "two accuracies": ((*ONE, "--u-celsius", "2", "--celsius-accuracy", "2"), "one of temperature"),
    "negative accuracy": ((*ONE, "--celsius-accuracy", "-2"), "-2"),
    "negative u": ((*ONE, "--u-ohm", "-0.1"), "-0.1"),
    "reference both ways": ((*ONE, "--ref-celsius", "20", "--ref-not-stated"), "ref-celsius"),
    "no conductor": ((*ONE, "--k", "20"), "234.5"),
    "no repeats": (("--repeats", " ; ", *BASE), "one number or more"),
    "bad repeat": (("--repeats", "5 x 6", *BASE), "'x'"),
    "unknown option": ((*ONE, "--meters", "1%+2x0.1"), "--meter"),
    "shortened option": ((*ONE, "--temp", "taped"), "--temp"),
    "a word too many": ((*ONE, "again"), "again"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused(reading, name):
    words, said = REFUSED[name]
    answer = reading(*words)
    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert answer.err.startswith("valvebench: ")
    assert "Traceback" not in answer.err
    assert ": found " in answer.err
    assert ", expected " in answer.err


def test_all_problems_come_together(reading):
    answer = reading("--ohm", "five", "--celsius", "warm", "--leads", "none", "--low", ",")
    assert [part in answer.err for part in ("'five'", "'warm'", "'none'", "','")] == [True] * 4


def test_words_that_are_no_text(run):
    answer = run("reading", "--ohm", "5\udcff", *BASE)
    assert (answer.code, answer.out) == (2, "")
    assert "UTF-8" in answer.err


def test_help_names_every_option(run):
    answer = run("reading", "--help")
    wanted = (
        "ohm open range-ohm volts-x volts-check celsius low high temperature celsius-accuracy ref-celsius "
        "ref-not-stated k meter meter-like leads lead-ohm lead-allowance-ohm check-ohm check-read check-pct zero-read "
        "volts-meter u-ohm u-celsius repeats rule json"
    )
    assert answer.code == 0
    assert [name for name in wanted.split() if f"--{name}" not in answer.out] == []

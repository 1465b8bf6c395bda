"""What the rounds say so far, on Pins and in the strip.

Values are the test's own truth: copper by R(t) = R20 (234.5 + t) / 254.5 (IEC 60034-1, 8.6.2), and on Heron a
contact that adds 0.016 ohm for every degree above 50; all invented.
"""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.fakes.pins_bench import AT_20, VARIANT, last
from tests.fakes.rounds_bench import RoundsBench
from valvebench.diagnose import heat_data, heat_odd
from valvebench.diagnose.heat_odd import Parting, Shift
from valvebench.model.words import Verdict
from valvebench.ui.pins.rounds_finds import FEWEST_ROUNDS, SMALLEST_SPAN_KELVIN, parting_words
from valvebench.ui.session_words import verdict_words

R20 = {"1": 5.42, "2": 5.44, "4": 5.36, "5": 5.50}
NAMES = {"1": "Gull", "2": "Heron", "4": "Curlew", "5": "Whimbrel"}
UP_AND_DOWN = (20, 45, 70, 98, 80, 55, 31)


def solenoid(pin: str) -> dict:
    like = json.loads(VARIANT)["devices"][0]
    return like | {"name": NAMES[pin], "between": [pin, "3"], "matched_set": "linear"}


FOUR = json.dumps(
    json.loads(VARIANT) | {"pins": [{"name": name} for name in "12345"], "devices": [solenoid(pin) for pin in R20]}
).encode()


def shown(pin: str, celsius: float, *, grows: bool = True) -> str:
    ohm = R20[pin] * (234.5 + celsius) / 254.5
    if pin == "2" and grows:
        ohm += max(0.0, 0.016 * (celsius - 50))
    return f"{ohm:.2f}"


@pytest.fixture
def bench():
    made = RoundsBench(variant=FOUR, set_up=replace(AT_20, meter="0.5%+2x0.01")).start()
    made.rounds.start()
    return made


def go_round(bench, *plateaus, grows=True):
    for celsius in plateaus:
        bench.answer(f"{celsius}")
        while bench.question is None:
            bench.answer(shown(bench.pair.red, celsius, grows=grows))


def words_of(bench):
    return {line.name: line.words for line in bench.finds.lines}


def verdicts(bench):
    return {line.name: line.verdict for line in bench.finds.lines}


def test_it_asks_for_no_less_than_the_comparison_does():
    assert FEWEST_ROUNDS == heat_data.FEWEST_SETTLED
    assert SMALLEST_SPAN_KELVIN == heat_data.SMALLEST_SPAN_KELVIN == heat_odd.SMALLEST_SPAN_KELVIN


def test_at_first_it_says_what_is_missing(bench):
    assert bench.finds.headline == "Five rounds at different temperatures tell copper from a contact."
    go_round(bench, 20)
    assert bench.finds.headline == "Four more rounds at other temperatures, all pairs."
    assert words_of(bench)["Heron"] == "1 of 5 rounds"
    assert set(verdicts(bench).values()) == {None}


def test_like_windings_part_before_any_model_says_so(bench):
    """0.768 ohm on 5.44 x 332.5 / 254.5 of copper are 10.8 percent."""
    go_round(bench, 20, 98)
    said = bench.finds.headline.removeprefix("Heron parts from Gull, Curlew and Whimbrel: ")
    value, doubt = (float(part) for part in said.partition(" %")[0].split(" \u00b1 "))
    assert abs(value - 10.8) <= doubt < 1.5
    assert bench.finds.headline.endswith(" % more at 98 \u00b0C. Three more rounds at other temperatures, all pairs.")


def test_one_more_round_is_asked_for_and_then_the_way_down(bench):
    go_round(bench, 20, 45, 70, 80, grows=False)
    assert "One more round at another temperature, all pairs." in bench.finds.headline
    go_round(bench, 98, grows=False)
    assert "Then a round or two on the way down." in bench.finds.headline


def test_too_little_span_is_said(bench):
    go_round(bench, 20, 21, 22, 23, 24, grows=False)
    assert bench.finds.headline == "Too little span: 4 \u00b0C from coldest to hottest. Go warmer."
    assert words_of(bench)["Gull"] == "Can't be compared yet"


def test_seven_rounds_name_the_contact_with_its_doubt(bench):
    """0.016 x (98 - 50) = 0.768 ohm too much."""
    go_round(bench, *UP_AND_DOWN)
    assert verdicts(bench)["Heron"] is Verdict.FAIL
    words = words_of(bench)["Heron"]
    assert words.startswith("Grows with heat: 0.7")
    assert words.endswith(" \u03a9 more at 98 \u00b0C")
    value, doubt = (
        float(part) for part in words.removeprefix("Grows with heat: ").split(" \u03a9")[0].split(" \u00b1 ")
    )
    assert abs(value - 0.768) <= doubt
    assert {name: verdict for name, verdict in verdicts(bench).items() if name != "Heron"} == {
        "Gull": Verdict.PASS,
        "Curlew": Verdict.PASS,
        "Whimbrel": Verdict.PASS,
    }
    assert words_of(bench)["Gull"].startswith("Copper: slope ")
    assert bench.finds.aside == "7 rounds, 20 to 98 \u00b0C"
    assert all(line.limits == "5.00\u20136.00" for line in bench.finds.lines)


def test_healthy_windings_keep_their_ratios_and_pass(bench):
    go_round(bench, *UP_AND_DOWN, grows=False)
    assert bench.finds.headline == "Gull, Heron and 2 more keep their ratios as they warm."
    assert set(verdicts(bench).values()) == {Verdict.PASS}


def test_an_undone_reading_takes_its_find_with_it(bench):
    go_round(bench, 20, 45, 70, 80, 98)
    assert verdicts(bench)["Whimbrel"] is not None
    assert bench.question.big == "Round 6"
    bench.pins.undo()
    assert words_of(bench)["Whimbrel"] == "4 of 5 rounds"


def test_an_open_winding_says_at_which_temperature(bench):
    bench.pins.set_set_up(replace(bench.pins.set_up, range_ohm=6e7))
    bench.answer("20", shown("1", 20))
    bench.rounds.keep_open()
    assert words_of(bench)["Heron"] == "Open at 20 \u00b0C"


def test_the_sets_are_compared_beside_the_window_and_no_more_often_than_needed(bench):
    go_round(bench, 20)
    bench.runner.is_held = True
    bench.answer("98", shown("1", 98))
    assert not bench.keeper.book.in_rounds("Gull")[1:]
    bench.runner.release()
    assert len(bench.keeper.book.in_rounds("Gull")) == 2


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (Parting("x", ("A", "B"), None), ""),
        (Parting("x", ("A", "B"), False), "A and B do not keep their ratios: one of them moves."),
        (
            Parting("x", ("A", "B", "C"), False, "B", Shift(-0.041, 0.01, 98.0, 20.0)),
            "B parts from A and C: 4.1 \u00b1 2.0 % less at 98 \u00b0C.",
        ),
    ],
)
def test_words_of_a_set(found, words):
    assert parting_words(found) == words


# -- beyond the page ---------------------------------------------------------------------------


def test_the_strip_follows_and_says_that_it_is_in_the_heat(bench):
    go_round(bench, 20, 45, 49, 50, 48, grows=False)
    assert "heat" not in verdict_words(bench.keeper.judgement())[0]
    go_round(bench, 70, 98, 90, 80, 60)
    judged = bench.keeper.judgement()
    failed = {key for key, verdict in judged.items.items() if verdict is Verdict.FAIL}
    assert "heat Heron" in failed
    assert verdict_words(judged)[0].startswith("Fail: Heron")


def test_the_marks_on_the_face_follow_the_heat(bench):
    go_round(bench, *UP_AND_DOWN)
    assert last(bench.view.show_marks)[0]["2"][0] is Verdict.FAIL

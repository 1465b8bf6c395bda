"""The example of the guide's page on the flex test, computed a second time by hand."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np

from valvebench.diagnose.flex import FlexSeries, look_at
from valvebench.model.meter import parse_meter

PAGE = (Path(__file__).parents[3] / "resources" / "guide" / "flex.md").read_text("utf-8")


def told(name):
    """The value in a row of the example."""
    return re.search(rf"^\| {re.escape(name)} \|.*\| ([\d.]+) \|$", PAGE, re.MULTILINE)[1]


def test_every_number_of_the_example_follows_from_the_one_before():
    spread = math.sqrt(0.4**2 / 39)
    noise = spread / math.sqrt(2) * 1.25 * math.sqrt(1 / 12 + 1 / 12)
    digits, gain = 0.1 / math.sqrt(6), 0.01 * 0.6 / math.sqrt(3)
    u = math.sqrt(noise**2 + digits**2 + gain**2)
    by_hand = {
        "step": f"{5.8 - 5.2:.2f}",
        "their spread": f"{spread:.4f}",
        "noise of the step": f"{noise:.4f}",
        "last digit of both ends": f"{digits:.4f}",
        "gain": f"{gain:.4f}",
        "u": f"{u:.4f}",
        "U": f"{2 * u:.3f}",
    }
    assert {name: told(name) for name in by_hand} == by_hand


def test_the_program_finds_what_the_example_says():
    found = look_at(FlexSeries(np.array([5.2] * 20 + [5.8] * 20)), parse_meter("1%+3x0.1"))
    (event,) = found.events
    assert (event.kind, event.sample) == ("step", 21)
    assert (f"{event.size_ohm.value:.2f}", f"{event.size_ohm.u:.4f}") == (told("step"), told("u"))


def test_how_often_a_rare_contact_is_missed():
    for readings, share in re.findall(r"(\d+) readings (?:miss it )?(\d+) times(?: in 100)?", PAGE):
        assert int(share) == round(100 * 0.9 ** int(readings))
    assert len(re.findall(r"(\d+) readings (?:miss it )?(\d+) times(?: in 100)?", PAGE)) == 3

"""Small invented libraries, and tables made of numbers alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from valvebench.diagnose.explain_priors import read_priors
from valvebench.diagnose.identified import Look, Question
from valvebench.diagnose.identify import Identifier
from valvebench.diagnose.identify_priors import read_identify_priors
from valvebench.diagnose.identify_table import table_from
from valvebench.model.variant import Feature, Pin, Solenoid, Variant

RESOURCES = Path(__file__).parents[3] / "resources"
PRIORS = read_identify_priors((RESOURCES / "identify.json").read_bytes(), source="identify.json")
FAULTS = read_priors((RESOURCES / "priors.json").read_bytes(), source="priors.json")
PINS = tuple(Pin(name=name) for name in ("1", "2", "3", "4"))


def feature(name, this, values=("no", "yes"), **more):
    return Feature(name=name, this=this, values=tuple(values), **more)


def variant(key, *features, devices=()):
    return Variant(
        format=1, key=key, title=f"Quillon Tern, {key}", pins=PINS, features=features, devices=tuple(devices)
    )


def coil(name, between, middle_ohm, **more):
    """A winding within 6 % of a value."""
    return Solenoid(name=name, between=between, low_ohm=0.94 * middle_ohm, high_ohm=1.06 * middle_ohm, **more)


def identifier(*variants, priors=PRIORS):
    return Identifier(variants, priors, FAULTS)


def looks(*answers):
    """`name=value` or (name, value, seen)."""
    return [Look(*answer.split("=")) if isinstance(answer, str) else Look(*answer) for answer in answers]


def random_codes(dice, variants, answers, *, silent=0.0):
    """Answers of variants at random, (F, N); some state nothing."""
    codes = np.stack([dice.integers(0, k, variants) for k in answers])
    codes[dice.random(codes.shape) < silent] = -1
    return codes


def number_table(codes, answers, must=None):
    """A table whose features and answers are numbers."""
    questions = tuple(Question(f"f{f:03}", tuple(f"a{a}" for a in range(k))) for f, k in enumerate(answers))
    keys = tuple(f"v{v:05}" for v in range(codes.shape[1]))
    return table_from(keys, questions, codes, np.zeros(codes.shape, bool) if must is None else must)

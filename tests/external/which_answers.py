"""Published entropies and posteriors, recomputed by the functions that tell which variant a part is."""

from __future__ import annotations

import msgspec
import numpy as np

from tests.external.air_answers import Each
from tests.unit.diagnose.identify_library import PRIORS
from valvebench.diagnose.identified import Look, Question
from valvebench.diagnose.identify_electric import Bands, Readings, fingerprint
from valvebench.diagnose.identify_table import table_from
from valvebench.diagnose.identify_weigh import Weigher

NEVER = 1e-13


def certain(number):
    return msgspec.structs.replace(number, value=NEVER)


# Looks that are never wrong, of a part that is in the library.
CERTAIN = msgspec.structs.replace(
    PRIORS,
    none_of_these=certain(PRIORS.none_of_these),
    misread=msgspec.structs.replace(PRIORS.misread, us=certain(PRIORS.misread.us)),
)


def information_gain(i):
    """Each row a variant, each column a feature: what the last one tells, how much less once another was seen."""
    columns, rows = i["columns"], list(zip(*i["rows"], strict=True))
    questions = tuple(Question(c, tuple(dict.fromkeys(row))) for c, row in zip(columns, rows, strict=True))
    codes = np.array([[q.answers.index(value) for value in row] for q, row in zip(questions, rows, strict=True)])
    table = table_from(tuple(map(str, range(codes.shape[1]))), questions, codes, np.zeros(codes.shape, bool))
    weigher = Weigher(table, CERTAIN)

    def tells(*looks):
        return float(weigher.gains(weigher.chances(weigher.count(looks)))[-1])

    def left(column, row):
        shares = {value: row.count(value) / len(row) for value in row}
        return sum(share * tells(Look(column, value)) for value, share in shares.items())

    whole = tells()
    gained = {c: whole - left(c, row) for c, row in zip(columns[:-1], rows[:-1], strict=True)}
    return {"H": whole, **gained}


def posterior(i):
    """One reading of sound devices; the scale is that of the check, in which the density is normal."""
    electrical = msgspec.structs.replace(PRIORS.electrical, faulty=certain(PRIORS.electrical.faulty))
    middle = np.array([i["mu"]])
    none, known = np.zeros_like(middle), np.ones(middle.shape, bool)
    bands = Bands(middle, none, none, none, known, ~known)
    readings = Readings(np.array([i["y"]]), np.array([i["u"]]), np.zeros(1), np.zeros(1))
    said = fingerprint(readings, bands, electrical)
    table = table_from(("a", "b", "c"), (), np.zeros((0, 3)), np.zeros((0, 3)))
    weigher = Weigher(table, CERTAIN)
    found = weigher.chances(weigher.count(()), said.variants + np.log(i["prior"]), -100.0)
    return {"p": Each(found.p.tolist())}


ANSWERS = {"entropy-information-gain": information_gain, "gaussian-variant-posterior": posterior}

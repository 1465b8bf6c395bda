"""Whatever a logger's file holds: one plain message or the numbers that stand in it, never NaN."""

from __future__ import annotations

import contextlib

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from valvebench.capture.heat_log import heat_log
from valvebench.model.errors import BadInput

CELLS = st.one_of(
    st.sampled_from(
        ["OL", "", "inf", "nan", "NaN", "-inf", "1e999", "9.91E37", "1_0", "\u0663", "--", '"', "0:00", "#N/A"]
    ),
    st.floats(allow_nan=True).map(str),
    st.text(max_size=6),
)
HUNDREDTHS = st.integers(0, 15_000)


def tried(raw):
    with contextlib.suppress(BadInput):
        return heat_log(raw, source="run.csv")
    return None


@given(st.lists(st.tuples(CELLS, CELLS, CELLS), min_size=1, max_size=6), st.sampled_from(",;\t"))
@settings(max_examples=300, deadline=None)
@example([("0", "20", "nan")], ",")
def test_no_number_comes_out_that_did_not_go_in(rows, sign):
    text = "\n".join([sign.join(("t_s", "probe_celsius", "ohm")), *(sign.join(row) for row in rows)])
    log = tried(text.encode("utf-8", "surrogatepass"))
    for run in log.runs.values() if log else ():
        assert np.isfinite(run.t_s).all()
        assert np.isfinite(run.probe_celsius).all()
        assert not np.isnan(run.ohm).any()
        assert not any("nan" in cell.lower() for row in rows for cell in row)


@given(st.binary(max_size=300), st.sampled_from([b"", b"PK\x03\x04", b"t_s,probe_celsius,ohm\n", b"\xff\xfe"]))
@settings(max_examples=300, deadline=None)
def test_noise_is_refused_in_plain_words(noise, head):
    tried(head + noise)


@given(st.lists(st.tuples(HUNDREDTHS, HUNDREDTHS, HUNDREDTHS), min_size=1, max_size=20))
@settings(max_examples=100, deadline=None)
def test_a_comma_file_is_its_point_twin(rows):
    table = "\n".join(["t_s;probe_celsius;ohm", *(";".join(f"{cell / 100:.2f}" for cell in row) for row in rows)])
    point, comma = tried(table.encode()), tried(table.replace(".", ",").encode())
    for a, b in zip(point.runs[""], comma.runs[""], strict=True):
        assert a.tolist() == b.tolist()
    assert point.runs[""].ohm.tolist() == [row[2] / 100 for row in rows]

"""Which values are odd among others."""

from __future__ import annotations

import pytest

from valvebench.diagnose.odd import odd_places


@pytest.mark.parametrize(
    ("values", "places"),
    [
        pytest.param((), (), id="none"),
        pytest.param((5.0, 5.0, 5.0, 9.0), (), id="half of them equal: nothing to measure by"),
        # by hand: median 3, median deviation 1; 0.6745 * (8.1 - 3) = 3.44, 0.6745 * (8.2 - 3) = 3.507
        pytest.param((1.0, 2.0, 3.0, 4.0, 8.1), (), id="just below 3.5 [Iglewicz and Hoaglin 1993]"),
        pytest.param((1.0, 2.0, 3.0, 4.0, 8.2), (4,), id="just above 3.5 [Iglewicz and Hoaglin 1993]"),
        pytest.param((-2.2, 2.0, 3.0, 4.0, 5.0), (0,), id="below as well: 0.6745 * 5.2 = 3.507"),
    ],
)
def test_odd_from_a_modified_z_above_three_and_a_half(values, places):
    assert odd_places(values) == places

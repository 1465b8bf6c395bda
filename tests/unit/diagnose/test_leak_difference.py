"""Old against new: a hose that is common to both does not part them."""

from __future__ import annotations

import msgspec
import pytest

from valvebench.diagnose.leak_difference import leak_difference
from valvebench.model.errors import BadInput
from valvebench.model.heat import Sized
from valvebench.model.leak import LeakFound, LeakLine, LeakMethod


def leak(value, *, noise=0.5):
    """A volume known to 10 %, and a noise."""
    lines = (LeakLine(term="volume", u_ml_min=0.1 * value), LeakLine(term="noise", u_ml_min=noise))
    return LeakFound(
        method=LeakMethod.DECAY,
        n=60,
        leak_ml_min=Sized(value=value, u=sum(line.u_ml_min**2 for line in lines) ** 0.5),
        at_kpa_gauge=300.0,
        from_kpa_gauge=300.0,
        to_kpa_gauge=250.0,
        ref_celsius=20.0,
        ref_kpa_abs=100.0,
        lines=lines,
        gauge="1%+1x1 (kPa)",
    )


def test_independent_volumes_add_up():
    found = leak_difference(leak(44.0), leak(40.0), same=())
    assert found.difference.u == pytest.approx((4.4**2 + 4.0**2 + 2 * 0.5**2) ** 0.5)
    assert (found.is_significant, found.common) == (False, ())


def test_a_common_volume_acts_on_the_difference_alone():
    found = leak_difference(leak(44.0), leak(40.0), same=("volume",))
    assert found.difference == Sized(value=4.0, u=pytest.approx((0.4**2 + 2 * 0.5**2) ** 0.5))
    assert (found.is_significant, found.common) == (True, ("volume",))


def test_what_neither_counted_is_not_called_common():
    assert leak_difference(leak(44.0), leak(40.0), same=("restriction", "volume")).common == ("volume",)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"leak_ml_min": None}, "two numbers"),
        ({"at_kpa_gauge": 200.0}, "one pressure"),
        ({"ref_celsius": 0.0}, "one reference"),
    ],
)
def test_unlike_leaks_are_not_compared(change, says):
    with pytest.raises(BadInput) as caught:
        leak_difference(leak(44.0), msgspec.structs.replace(leak(40.0), **change), same=())
    assert says in str(caught.value)

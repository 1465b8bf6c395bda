"""What is set at the bench for the tests that follow: pressure, gauge, cover plate.  No Qt."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import msgspec

from valvebench.bench.desk import Desk
from valvebench.model.entry import AirTest, SwitchTest
from valvebench.model.errors import bad
from valvebench.model.numbers import decimal
from valvebench.model.words import Place

HIGHEST_KPA: Final = 10_000.0
NEXT_COVER: Final = MappingProxyType({None: True, True: False, False: None})
"""One key goes round: not said, on, off."""
COVER_TEXT: Final = MappingProxyType({None: "not said", True: "on", False: "off"})


@dataclass(frozen=True, kw_only=True)
class AirSetUp:
    """Regulated pressure as the gauge shows it [kPa gauge], which gauge, and whether the cover plate is on the body."""

    kpa_gauge: float | None = None
    gauge_id: str | None = None
    has_cover: bool | None = None


BARE: Final = AirSetUp()
"""Nothing is set."""


def read_kpa(text: str, *, where: str = "gauge pressure") -> float | None:
    """A typed pressure [kPa gauge]; None where nothing is typed, refused at nought and below."""
    if not text.strip():
        return None
    kpa = decimal(text, where=where)
    if not 0 < kpa <= HIGHEST_KPA:
        raise bad(where, text, "a pressure above nought in kPa, such as 250")
    return kpa


@dataclass(frozen=True, kw_only=True)
class Moves:
    """What is typed of a switch beside its answer, as typed: pressures up and down, its closed contact."""

    up_kpa: str = ""
    down_kpa: str = ""
    closed_ohm: str = ""

    def with_them(self, test: SwitchTest) -> SwitchTest:
        """The entry with what was typed; refused where a number cannot be."""
        ohm = decimal(self.closed_ohm, where="closed contact") if self.closed_ohm.strip() else None
        return msgspec.structs.replace(
            test,
            up_kpa_gauge=read_kpa(self.up_kpa, where="changed going up"),
            down_kpa_gauge=read_kpa(self.down_kpa, where="changed back"),
            closed_ohm=ohm,
        )


NOTHING_TYPED: Final = Moves()


def last_set_up(desk: Desk) -> AirSetUp:
    """The gauge of the newest test under air, the plate of the newest at the body; a new session begins without."""
    bodies = [item.body for item in reversed(desk.session.items_of("air", "switch"))]
    at_body = (body for body in bodies if isinstance(body, AirTest) and body.place is Place.BODY)
    has_cover = next((body.has_cover for body in at_body), None)
    for body in bodies:
        if isinstance(body, AirTest):
            return AirSetUp(kpa_gauge=body.kpa_gauge, gauge_id=body.gauge_id, has_cover=has_cover)
        if isinstance(body, SwitchTest) and body.kpa_gauge:
            return AirSetUp(kpa_gauge=body.kpa_gauge, has_cover=has_cover)
    return AirSetUp(has_cover=has_cover)

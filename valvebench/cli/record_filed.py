"""The kinds of entry that come from a file: what each keeps, its options, how it is kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from valvebench.bench.desk import Desk
from valvebench.cli import record_air, record_flex, record_heat
from valvebench.cli.options import Option
from valvebench.cli.services import Services
from valvebench.model.entry import Entry


class Filed(NamedTuple):
    """A kind that comes from a file: what it keeps, what the file holds, its options, how it is kept."""

    keeps: str
    holds: str
    options: tuple[Option, ...]
    keep: Callable[[Desk, Services, Any, Mapping[str, Any]], Entry]
    needed: tuple[str, str] = ("", "")
    is_file_needed: bool = True


FILED: Final[Mapping[str, Filed]] = MappingProxyType(
    {
        "heat-run": Filed(
            "Keep a logger's run of one device with what it says against copper.",
            "log (CSV or .xlsx) with t_s, probe_celsius, ohm",
            record_heat.TAKEN,
            record_heat.keep_run,
            ("device", "the device that was warmed"),
        ),
        "flex": Filed(
            "Keep the readings of a pair that was flexed, typed or from a logger's file.",
            "log (CSV or .xlsx) with ohm, and t_s",
            record_flex.TAKEN,
            record_flex.keep_flex,
            is_file_needed=False,
        ),
        "leak": Filed(
            "Keep a leak of a port as a number, typed or from a file.",
            "readings (CSV or .xlsx) as for valvebench leak",
            record_air.LEAK,
            record_air.keep_leak,
            is_file_needed=False,
        ),
        "sweep": Filed(
            "Keep a sweep of a solenoid's current with what it says.",
            "readings (CSV or .xlsx) with ampere, kpa_gauge, branch",
            record_air.SWEEP,
            record_air.keep_sweep,
            ("device", "the solenoid that was swept"),
        ),
    }
)

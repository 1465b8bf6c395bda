"""Every file call of every writer fails, is short or is the last one: nothing torn, nothing lost, no false word."""

from __future__ import annotations

import importlib.util

import pytest

from tests.fakes.faulty_os import MODES
from tests.fakes.sweep import sweep
from tests.fakes.writers import FILE_WRITERS, SESSION_WRITERS, WORKBOOK


@pytest.mark.parametrize("writer", [*FILE_WRITERS, *SESSION_WRITERS], ids=lambda writer: writer.name)
def test_no_fault_at_any_call_does_harm(writer, ram_path, record_property):
    swept = sweep(writer, ram_path)
    record_property("trials", swept.trials)
    print(f"\n{writer.name}: {swept.trials} trials in {len(MODES)} modes, {len(swept.violations)} violations")
    assert not swept.violations, "\n".join(swept.violations)
    assert swept.trials >= len(MODES), "the sweep met no calls"


def test_no_fault_at_any_call_harms_a_workbook(ram_path):
    if importlib.util.find_spec("valvebench.report.workbook") is None:
        pytest.skip("the workbook is not there yet")
    import valvebench.report.workbook  # noqa: F401  imported here, so that no trial pays for it

    swept = sweep(WORKBOOK, ram_path)
    print(f"\n{WORKBOOK.name}: {swept.trials} trials in {len(MODES)} modes, {len(swept.violations)} violations")
    assert not swept.violations, "\n".join(swept.violations)

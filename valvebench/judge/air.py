"""What was heard at a port -> verdict; switches and solenoids are in `judge.switches` and `judge.functions`."""

from __future__ import annotations

from typing import Final, NamedTuple

from valvebench.model.entry import AirTest
from valvebench.model.variant import Expectation, Port, Variant
from valvebench.model.words import AirResult, Reaction, Verdict

_REACTION_TEXT = {
    Reaction.HOLDS: "air holds",
    Reaction.COMES_OUT: "air comes out",
    Reaction.CLICKS: "a click",
    Reaction.BLEEDS: "bleeds by design",
    Reaction.THUD: "a dull thud, then holds",
}


class Heard(NamedTuple):
    """Verdict and reasons of a test by ear, and what to do next."""

    verdict: Verdict
    reasons: tuple[str, ...]
    next_steps: tuple[str, ...] = ()


class AirItem(NamedTuple):
    """A port under one setting: its key, what is stated for it, and whether an answer can belong to nothing else."""

    key: str
    expected: tuple[Expectation, ...]
    is_told_apart: bool = True


def air_items(port: Port) -> tuple[AirItem, ...]:
    """One item for each setting a port has an expectation for; the port itself where there is one at most."""
    by_setting: dict[tuple[object, ...], list[Expectation]] = {}
    for expectation in port.expect:
        by_setting.setdefault(_setting(expectation), []).append(expectation)
    if len(by_setting) <= 1:
        return (AirItem(_port_key(port.name), port.expect),)
    return tuple(AirItem(_setting_key(port.name, stated[0]), tuple(stated)) for stated in by_setting.values())


def _port_key(name: str) -> str:
    return f"port {name}"


def _setting_key(name: str, asked: Expectation | AirTest) -> str:
    return f"{_port_key(name)} ({', '.join(_setting_words(asked)) or 'any other setting'})"


def _setting(asked: Expectation | AirTest) -> tuple[object, ...]:
    return asked.selector, frozenset(asked.solenoids.items())


def _setting_words(asked: Expectation | AirTest) -> list[str]:
    selector = [f"selector {asked.selector}"] if asked.selector else []
    return [*selector, *(f"{name} {state}" for name, state in asked.solenoids.items())]


def item_of(variant: Variant | None, test: AirTest) -> AirItem:
    """Which item an answer belongs to: the same setting, else the only one that what was set leaves possible.

    Of several possible ones the most detailed serves where all it asks for was set; otherwise the answer
    belongs to the port as a whole, and nobody can say what was expected.
    """
    port = variant.port_named(test.port) if variant is not None else None
    if port is None or not port.expect:
        return AirItem(_port_key(test.port), ())
    items = air_items(port)
    possible = [item for item in items if _fits(item.expected[0], test)]
    if not possible:
        return AirItem(_setting_key(test.port, test), ())
    only = _same(possible, test) or _most_detailed(possible, test)
    together = tuple(expectation for item in possible for expectation in item.expected)
    return only or AirItem(_port_key(test.port), together, is_told_apart=False)


def _same(possible: list[AirItem], test: AirTest) -> AirItem | None:
    return next((item for item in possible if _setting(item.expected[0]) == _setting(test)), None)


def _most_detailed(possible: list[AirItem], test: AirTest) -> AirItem | None:
    if len(possible) == 1:
        return possible[0]
    most = max(_detail(item.expected[0]) for item in possible)
    first, *others = (item for item in possible if _detail(item.expected[0]) == most)
    return first if not others and _is_all_set(first.expected[0], test) else None


def _detail(expectation: Expectation) -> int:
    return (expectation.selector is not None) + len(expectation.solenoids)


def _is_all_set(expectation: Expectation, test: AirTest) -> bool:
    return expectation.selector in (None, test.selector) and expectation.solenoids.keys() <= test.solenoids.keys()


def _fits(expectation: Expectation, test: AirTest) -> bool:
    """Nothing that was set contradicts it; what was not set is taken as asked for."""
    if test.selector is not None and expectation.selector not in (None, test.selector):
        return False
    return all(test.solenoids.get(name, state) == state for name, state in expectation.solenoids.items())


def judge_air(variant: Variant | None, test: AirTest) -> Heard:
    """Judge a port: `bleeds` is right only where it bleeds by design.

    Without its cover plate a body lets air out at most ports, so that only air that held or moved something in
    spite of it says anything: common practice, no source.
    """
    item = item_of(variant, test)
    words = _expected_words(item.expected)
    if test.result is AirResult.NOT_POSSIBLE:
        return Heard(Verdict.NOT_TAKEN, ("Not taken: the test was not possible.", words))
    if test.has_cover is False and not _stands_without_cover(item.expected, test):
        return Heard(Verdict.NOT_USABLE, (_NO_COVER, words))
    if test.result is AirResult.FAIL:
        return Heard(Verdict.FAIL, (_fail_words(test), words))
    return _as_expected_or_bleeds(item, test, words)


def _as_expected_or_bleeds(item: AirItem, test: AirTest, words: str) -> Heard:
    is_bleeding = test.result is AirResult.BLEEDS
    if not item.is_told_apart and not (is_bleeding and _never_bleeds(item.expected)):
        return Heard(Verdict.NOT_USABLE, (_NOT_TOLD, words))
    if is_bleeding:
        return _bleeds(item.expected, words)
    if test.came_out_at is not None and not _may_come_out(item.expected, test.came_out_at):
        return Heard(Verdict.NOT_USABLE, (_OTHER_PORT.format(test.came_out_at), words))
    return Heard(Verdict.PASS, ("Pass: the port did what was expected, by ear.", words))


def _stands_without_cover(expected: tuple[Expectation, ...], test: AirTest) -> bool:
    return test.result is AirResult.PASS and _never_bleeds(expected)


def _fail_words(test: AirTest) -> str:
    out_at = f"; air came out at {test.came_out_at}" if test.came_out_at is not None else ""
    return f"Fail: the port did not do what was expected, by ear{out_at}."


def _may_come_out(expected: tuple[Expectation, ...], at: str) -> bool:
    """Whether air may come out there: nothing is stated, or an expectation names that port or none."""
    ways_out = [each.at for each in expected if each.reaction is Reaction.COMES_OUT]
    return not expected or any(stated in (None, at) for stated in ways_out)


_NO_COVER: Final = (
    "Not usable: without its cover plate most ports of a body cannot hold, so air that escapes says nothing. "
    "Fit the plate and ask again."
)
_OTHER_PORT: Final = (
    "Not usable: the answer says as expected, yet that air came out at {}, where none is expected. Ask it again."
)
_NOT_TOLD: Final = (
    "Not usable: the answer does not say what was set, and more than one thing is expected here. Ask each setting anew."
)


def _never_bleeds(expected: tuple[Expectation, ...]) -> bool:
    return all(each.reaction is not Reaction.BLEEDS for each in expected)


def _bleeds(expected: tuple[Expectation, ...], words: str) -> Heard:
    if not expected:
        return Heard(Verdict.NO_LIMIT, ("No limit: it bleeds, and nothing says whether it should.", words))
    if _never_bleeds(expected):
        return Heard(Verdict.FAIL, ("Fail: it bleeds and should not.", words))
    if all(each.reaction is Reaction.BLEEDS for each in expected):
        return Heard(Verdict.PASS, ("Pass: it bleeds, as it should.", words))
    return Heard(Verdict.NO_LIMIT, ("No limit: it bleeds, and more than that is stated for one setting.", words))


def _expected_words(expected: tuple[Expectation, ...]) -> str:
    if not expected:
        return "No expectation is stated for this port as it was set."
    return f"Expected: {'; or '.join(_expected_text(each) for each in expected)}."


def _expected_text(expectation: Expectation) -> str:
    at = f" at {expectation.at}" if expectation.at else ""
    return ", ".join([f"{_REACTION_TEXT[expectation.reaction]}{at}", *_setting_words(expectation)])

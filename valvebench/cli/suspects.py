"""`valvebench suspects VARIANT --shift 5-6`: what changes in a shift, and what to test first."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from valvebench.bench.suspecting import evidence_of
from valvebench.bench.view import SessionView
from valvebench.cli.options import DONE, NOT_DECIDED, Option, Parser, answer, fields, one_of, words
from valvebench.cli.services import MakeServices, Services
from valvebench.diagnose.suspected import Suspect, Suspected, Told
from valvebench.diagnose.suspects import suspects
from valvebench.diagnose.suspects_found import NOTHING_TAKEN, Evidence
from valvebench.diagnose.suspects_shift import read_shift
from valvebench.diagnose.suspects_told import understood
from valvebench.diagnose.suspects_weights import SuspectWeights, family_of, read_weights
from valvebench.diagnose.suspects_words import NO_CHANCE, SAFETY, STATE_TEXT, changes_lines, complaint_text
from valvebench.model.errors import bad
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Feel, When

_OPTIONS: Final = (
    Option("--shift", "shift", words, "which shift or event: 5-6, 6-5, 4-2, N-D, N-R, P-R, lock-up"),
    Option("--when", "when", one_of(When), "hot, cold, sometimes or always"),
    Option("--feel", "feel", one_of(Feel), f"what it feels like: {', '.join(feel.value for feel in Feel)}"),
    Option("--session", "session", words, "session folder: its complaint where no option says another, its results"),
)


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print the suspects in order; 3 where neither chart says anything of the shift."""
    parser = Parser("suspects", "What changes in a shift, and what to test first for a complaint.")
    parser.add_argument("variant", type=Path, help="variant file")
    for option in _OPTIONS:
        option.add_to(parser)
    arguments = parser.read(given)
    found = fields(arguments, _OPTIONS)
    world = services()
    variant = read_variant(world.read_file(arguments.variant), source=str(arguments.variant))
    weights = read_weights(world.read_file(world.data_folder() / "resources" / "suspects.json"), source="suspects.json")
    view = _view(world, found.get("session"), variant)
    told, left = _complaint(found, variant, view)
    evidence = _evidence(view, variant, world) if view is not None else NOTHING_TAKEN
    suspected = suspects(variant, told, weights, evidence)
    answer(arguments.json, as_data(suspected, left, weights), "\n".join(_lines(suspected, left)))
    return DONE if suspected.changes.is_answered else NOT_DECIDED


def _view(world: Services, folder: str | None, variant: Variant) -> SessionView | None:
    if folder is None:
        return None
    view = world.view_session(Path(folder))
    if view.variant is not None and view.variant.key != variant.key:
        expected = f"a session of {variant.key}"
        raise bad("--session", f"one of {view.variant.key}", expected, "Name the variant file the job was opened with.")
    return view


def _complaint(found: dict[str, Any], variant: Variant, view: SessionView | None) -> tuple[Told, tuple[str, ...]]:
    """The complaint of the options; what they do not say is the session's."""
    job = view.session.job_now if view is not None else None
    shift = found.get("shift") or (job.shift if job is not None else None)
    if shift is None:
        raise bad("--shift", "nothing", "the shift or event of the complaint, such as 5-6, N-D or lock-up")
    when = found.get("when") or (job.when if job is not None else None)
    feel = found.get("feel") or (job.feel if job is not None else None)
    told = understood(shift, when, feel, variant)
    if told.told is None:
        read_shift(shift, variant)  # says what is wrong with it
        raise bad("--shift", repr(shift), "a shift of the variant")
    return told.told, told.left


def _evidence(view: SessionView, variant: Variant, world: Services) -> Evidence:
    """Rows judged, and what explains the readings where there are any."""
    from valvebench.bench.explain_report import explain_job
    from valvebench.diagnose.explain_priors import read_priors

    priors = read_priors(world.read_file(world.data_folder() / "resources" / "priors.json"), source="priors.json")
    explained = explain_job(view.session, view.variant or variant, priors)
    rows = view.judged().rows
    return evidence_of(view.session, rows, explained.explained if explained is not None else None)


def as_data(found: Suspected, left: Sequence[str], weights: SuspectWeights) -> dict[str, Any]:
    """The stable JSON answer."""
    changes = found.changes
    return {
        "changes": {
            "apply": changes.apply if changes.knows_clutches else (),
            "release": changes.release if changes.knows_clutches else (),
            "solenoids": [one.name for one in changes.solenoids],
            "states": [
                {
                    "solenoid": one.name,
                    "before": one.before,
                    "after": one.after,
                    "clutch": found.steers[one.name].clutch if one.name in found.steers else None,
                }
                for one in changes.solenoids
            ],
        },
        "suspects": [_suspect(one) for one in found.suspects],
        "complaint": {
            "shift": found.told.shift.text,
            "when": found.told.when,
            "feel": found.told.feel,
        },
        "cant_tell": found.cant_tell,
        "left": left,
        "elsewhere": found.elsewhere,
        "note": weights.note,
    }


def _suspect(one: Suspect) -> dict[str, Any]:
    return {
        "what": one.what,
        "kind": one.cause,
        "weight": one.weight,
        "why": " ".join(one.why),
        "tests": [test.words for test in one.tests],
        "where": one.where,
        "family": family_of(one.cause),
        "in_vehicle": one.in_vehicle,
        "state": one.state,
        "entries": one.entries,
    }


def _lines(found: Suspected, left: Sequence[str]) -> list[str]:
    """The same for a person."""
    lines = [f"Complaint: {complaint_text(found.told)}.", *left, *changes_lines(found.changes, found.steers)]
    lines += [line for line in found.cant_tell if line not in found.changes.cant_tell]
    lines += ["", "What to test first"]
    for place, one in enumerate(found.suspects, start=1):
        lines.append(f"{place:>3}  {one.what} ({STATE_TEXT[one.state].lower()})")
        lines.append(f"     {' '.join(one.why)}")
        lines += [f"     - {test.words}" for test in one.tests]
    lines.append("")
    lines += [f"Failed too, with no part in this shift: {'; '.join(found.elsewhere)}."] if found.elsewhere else []
    return [*lines, NO_CHANCE, SAFETY]

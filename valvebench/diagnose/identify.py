"""Which variant a part is, from what was seen of it and a few readings, and what to look at next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from valvebench.diagnose.explain_priors import Priors
from valvebench.diagnose.explain_readings import Said
from valvebench.diagnose.identified import (
    CANNOT_SEE,
    NONE_OF_THESE,
    SOMETHING_ELSE,
    Identified,
    Look,
    NotUsed,
    Question,
)
from valvebench.diagnose.identify_alike import alike_groups
from valvebench.diagnose.identify_answers import Answering, Evidence
from valvebench.diagnose.identify_electric import Expecting, fingerprint
from valvebench.diagnose.identify_priors import IdentifyPriors
from valvebench.diagnose.identify_readings import served
from valvebench.diagnose.identify_rules import without_phone
from valvebench.diagnose.identify_table import Table, table_of
from valvebench.diagnose.identify_weigh import Weigher
from valvebench.model.errors import BadInput, Problem
from valvebench.model.variant import Variant

_MOST_ALIKE: Final = 200
_LEAST_P: Final = 1e-4


class Identifier:
    """Tells variants of one library apart; what does not depend on what was seen is made once.

    Parameters
    ----------
    variants : the library, in any order
    priors : how often looks are wrong, how often a part is none of these
    faults : the spread of good parts, for readings

    Raises
    ------
    BadInput : where there is no variant, or two have one key.
    """

    def __init__(self, variants: Sequence[Variant], priors: IdentifyPriors, faults: Priors) -> None:
        _check_library(variants)
        self.variants = tuple(variants)
        self.table: Table = table_of(self.variants)
        self.expecting = Expecting(self.variants, faults, priors.electrical)
        self._weigher = Weigher(self.table, priors)
        self._electrical = priors.electrical
        self._questions = {question.feature: question for question in self.table.questions}

    @property
    def questions(self) -> tuple[Question, ...]:
        """Every feature of the library, with what can be answered."""
        return self.table.questions

    def question(self, feature: str) -> Question | None:
        """A feature of the library by its name."""
        return self._questions.get(feature)

    def identify(self, looks: Sequence[Look], said: Sequence[Said] = ()) -> Identified:
        """Weigh what was seen and read.

        Parameters
        ----------
        looks : features with their answers, in any order; the same feature twice is a second look
        said : readings in numbers

        Returns
        -------
        The answer; chances sum to one with none of these.
        """
        left_out = [left for look in looks if (left := self._left_out(look)) is not None]
        kept = tuple(look for look in looks if self._left_out(look) is None)
        counts = self._weigher.count(kept)
        taken = served(said, self.expecting, self._electrical)
        bands = self.expecting.bands(
            [(one.reading.from_node, one.reading.to_node, one.reading.celsius) for one in taken.said]
        )
        electric = fingerprint(taken.readings, bands, self._electrical)
        also = electric.variants, float(electric.none)
        chances = self._weigher.chances(counts, *also)
        unphoned = self._weigher.chances(without_phone(counts), *also)
        answering = Answering(self._weigher, Evidence(kept, counts, taken, bands, chances, unphoned))
        return self._answer(answering, chances.p.tolist(), float(chances.none), (*left_out, *taken.left_out))

    def _answer(
        self, answering: Answering, p: Sequence[float], p_none: float, left_out: tuple[NotUsed, ...]
    ) -> Identified:
        keys, order = self.table.keys, answering.order.tolist()
        likely = [v for v in order[:_MOST_ALIKE] if p[v] > _LEAST_P]
        return Identified(
            posterior=tuple((keys[v], p[v]) for v in order),
            p_none=p_none,
            verdict=answering.verdict(),
            leading=tuple(keys[v] for v in answering.leading),
            contradictions=answering.contradictions(answering.order[:_MOST_ALIKE].tolist()),
            must=answering.must(),
            holds_back=answering.holds_back(),
            next=answering.next(),
            first=answering.first(),
            not_checked=answering.not_checked(),
            told_only=answering.told_only(),
            groups=alike_groups(self.table, self.variants, likely),
            lost=answering.lost(),
            left_out=left_out,
            has_evidence=answering.has_evidence,
        )

    def _left_out(self, look: Look) -> NotUsed | None:
        question = self.question(look.feature)
        if question is None:
            return NotUsed(look.entry, look.feature, "no variant here has this feature")
        if look.value in (*question.answers, CANNOT_SEE, SOMETHING_ELSE):
            return None
        return NotUsed(look.entry, look.feature, f"{look.value} is none of its answers")


def _check_library(variants: Sequence[Variant]) -> None:
    problems = []
    if not variants:
        advice = "Name a folder that holds variant files (*.json)."
        problems.append(Problem(where="variants", found="none", expected="at least one variant", what_to_do=advice))
    counted = Counter(variant.key for variant in variants)
    for key in sorted({key for key in counted if counted[key] > 1}):
        advice = "Take one of the files away, or give it another key."
        found = f"key {key!r} {counted[key]} times"
        problems.append(Problem(where="variants", found=found, expected="each key once", what_to_do=advice))
    if NONE_OF_THESE in counted:
        found = f"a variant with the key {NONE_OF_THESE!r}"
        problems.append(Problem(where="variants", found=found, expected="another key: that word has its own meaning"))
    if problems:
        raise BadInput(problems)

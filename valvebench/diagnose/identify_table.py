"""The features of a library of variants as one table, made once and asked often."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from valvebench.diagnose.identified import Question
from valvebench.model.variant import Feature, Variant

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]
UNSTATED = -1
_FEWEST_ANSWERS = 2


class Table(NamedTuple):
    """F features against N variants, R answers of all features one below the other.

    keys : the variants, in the order they were given
    questions : (F,) what can be answered
    answers : (F,) how many answers a feature has; one that nobody disagrees about counts as two
    first : (F,) row where a feature's answers begin
    feature : (R,) which feature a row belongs to
    codes : (F, N) which answer a variant gives, -1 where it states none
    row : (F, N) the row of that answer, -1 where there is none
    must : (F, N) whether it has to match
    match : (R, N) one where a variant gives that answer, else nought
    unknown : (U, N) one where a variant states nothing, only features that some variant is silent on
    silent : (U,) which features those are
    """

    keys: tuple[str, ...]
    questions: tuple[Question, ...]
    answers: Whole
    first: Whole
    feature: Whole
    codes: Whole
    row: Whole
    must: Flags
    match: Floats
    unknown: Floats
    silent: Whole

    def number_of(self, feature: str) -> int | None:
        """Where a feature stands; None where no variant has it."""
        return next((i for i, question in enumerate(self.questions) if question.feature == feature), None)


def table_of(variants: Sequence[Variant]) -> Table:
    """The table of a library; several variants that name a feature with different answers allow all of them.

    The order of features and answers follows the variants' keys, not the order the files were read in.
    """
    by_key = sorted(variants, key=lambda one: one.key)
    named: dict[str, list[Feature]] = {}
    for variant in by_key:
        for feature in variant.features:
            named.setdefault(feature.name, []).append(feature)
    questions = tuple(_question(name, features) for name, features in named.items())
    number = {question.feature: i for i, question in enumerate(questions)}
    answer = [{value: a for a, value in enumerate(question.answers)} for question in questions]
    codes = np.full((len(questions), len(variants)), UNSTATED, dtype=np.intp)
    must = np.zeros(codes.shape, dtype=bool)
    for v, variant in enumerate(variants):
        for feature in variant.features:
            f = number[feature.name]
            must[f, v] = feature.must_match
            if feature.this is not None:
                codes[f, v] = answer[f][feature.this]
    return table_from(tuple(one.key for one in variants), questions, codes, must)


def table_from(
    keys: tuple[str, ...], questions: tuple[Question, ...], codes: npt.NDArray[Any], must: npt.NDArray[Any]
) -> Table:
    """A table from the answers themselves.

    Parameters
    ----------
    keys : (N,) names of the variants
    questions : (F,) features with their answers
    codes : (F, N) number of the answer each variant gives, -1 where it states none
    must : (F, N) whether it has to match
    """
    codes = np.asarray(codes, dtype=np.intp).reshape(len(questions), len(keys))
    rows = np.array([len(question.answers) for question in questions], dtype=np.intp)
    first = np.concatenate([[0], np.cumsum(rows)[:-1]]).astype(np.intp) if len(rows) else rows
    row = np.where(codes >= 0, codes + first[:, None], UNSTATED)
    match = np.zeros((int(rows.sum()), len(keys)))
    f, v = np.nonzero(codes >= 0)
    match[row[f, v], v] = 1.0
    is_unknown = codes < 0
    silent = np.flatnonzero(is_unknown.any(axis=1))
    return Table(
        keys=keys,
        questions=questions,
        answers=np.maximum(rows, _FEWEST_ANSWERS),
        first=first,
        feature=np.repeat(np.arange(len(rows)), rows),
        codes=codes,
        row=row,
        must=np.asarray(must, dtype=bool).reshape(codes.shape),
        match=match,
        unknown=is_unknown[silent].astype(float),
        silent=silent,
    )


def _question(name: str, features: Sequence[Feature]) -> Question:
    values: dict[str, None] = {}
    for feature in features:
        values |= dict.fromkeys(feature.values)
    values |= dict.fromkeys(feature.this for feature in features if feature.this is not None)
    ask = next((feature.ask for feature in features if feature.ask), "")
    ask_phone = next((feature.ask_phone for feature in features if feature.ask_phone), "")
    return Question(name, tuple(values), ask, ask_phone)

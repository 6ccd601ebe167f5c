"""What must not meet: rules by chemical class, and what they say of two solutions."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum


class Chemical(StrEnum):
    """Classes that the rules speak of. A solution may belong to several, or to none."""

    ACID = "ACID"
    STRONG_ACID = "STRONG_ACID"
    ALKALI = "ALKALI"
    AMMONIUM = "AMMONIUM"
    SULFITE_THIOSULFATE = "SULFITE_THIOSULFATE"
    SULFIDE = "SULFIDE"
    CYANO_IRON = "CYANO_IRON"
    SELENIUM = "SELENIUM"
    OXIDISER = "OXIDISER"
    HYPOCHLORITE = "HYPOCHLORITE"
    SILVER_AMMINE = "SILVER_AMMINE"
    ORGANIC_REDUCER = "ORGANIC_REDUCER"
    FORMALDEHYDE = "FORMALDEHYDE"


class Level(StrEnum):
    """Block: never. Warn: only by somebody who has read why and says so."""

    BLOCK = "block"
    WARN = "warn"


ANYTHING = ""
"""Stands in a rule for every class that no rule names together with the first."""


@dataclass(frozen=True, slots=True)
class Rule:
    """Two classes that must not meet, what would come of it, and who says so."""

    level: Level
    a: Chemical
    b: str
    product: str
    why: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """A rule that two solutions fall under: ``a`` is in the first of them, ``b`` in the second."""

    level: Level
    a: Chemical
    b: Chemical
    product: str
    why: str
    source: str
    standing: str


def verdicts(
    classes_a: frozenset[Chemical], classes_b: frozenset[Chemical], rules: tuple[Rule, ...]
) -> tuple[Verdict, ...]:
    """Everything that is wrong with pouring these two together, what is blocked first.

    The same whichever of the two is poured into the other. Nothing new meets when both solutions
    already hold both classes, as with two acid fixers, so nothing is said then.
    """
    found = [
        verdict
        for rule in rules
        for b in _partners(rule, rules)
        for verdict in _meetings(rule, b, classes_a, classes_b)
    ]
    return tuple(sorted(found, key=lambda verdict: verdict.level != Level.BLOCK))


def _partners(rule: Rule, rules: tuple[Rule, ...]) -> tuple[Chemical, ...]:
    if rule.b != ANYTHING:
        return (Chemical(rule.b),)
    named = {other for one in rules for other in _named_with(rule.a, one)}
    return tuple(one for one in Chemical if one != rule.a and one not in named)


def _named_with(chemical: Chemical, rule: Rule) -> tuple[str, ...]:
    pair = (rule.a, rule.b)
    return tuple(other for one, other in (pair, pair[::-1]) if one == chemical and other)


def _meetings(
    rule: Rule, b: Chemical, classes_a: frozenset[Chemical], classes_b: frozenset[Chemical]
) -> Iterator[Verdict]:
    both = {rule.a, b}
    if both <= classes_a and both <= classes_b:
        return
    for first, second in dict.fromkeys(((rule.a, b), (b, rule.a))):
        if first in classes_a and second in classes_b:
            yield Verdict(
                rule.level, first, second, rule.product, rule.why, rule.source, rule.standing
            )
            return

"""The rules of what must not meet, as the data file has them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from chemistry.catalogue.schema import CatalogueFault
from chemistry.catalogue.tables import Table
from chemistry.models import Standing
from chemistry.science.mixtures import ANYTHING, Chemical, Level, Rule, Verdict, verdicts

PATH = Path(__file__).with_name("mixtures.toml")


@dataclass(frozen=True, slots=True)
class Meaning:
    """A class in words, and what of a darkroom belongs to it."""

    label: str
    examples: str


@dataclass(frozen=True, slots=True)
class Mixtures:
    meanings: dict[Chemical, Meaning]
    rules: tuple[Rule, ...]


@cache
def mixtures(path: Path = PATH) -> Mixtures:
    """Raises: CatalogueFault at the first thing that does not fit."""
    page = Table(tomllib.loads(path.read_text(encoding="utf-8")), path.name)
    meanings = _meanings(page.table("classes"))
    rules = tuple(map(_rule, page.rows("rule")))
    page.done()
    pairs = [frozenset((rule.a, rule.b)) for rule in rules]
    if len(set(pairs)) < len(pairs):
        raise page.fault("two rules are about the same pair")
    return Mixtures(meanings, rules)


def meet(classes_a: frozenset[Chemical], classes_b: frozenset[Chemical]) -> tuple[Verdict, ...]:
    """What the rules say of pouring these two together, what is blocked first."""
    return verdicts(classes_a, classes_b, mixtures().rules)


def chemicals(names: Iterable[str]) -> frozenset[Chemical]:
    """Classes as they are stored."""
    return frozenset(map(Chemical, names))


def _meanings(table: Table) -> dict[Chemical, Meaning]:
    found = {one: _meaning(table.table(one)) for one in Chemical}
    table.done()
    return found


def _meaning(table: Table) -> Meaning:
    meaning = Meaning(table.text("label"), table.text("examples"))
    table.done()
    return meaning


def _rule(table: Table) -> Rule:
    rule = Rule(
        level=Level(table.choice("level", list(Level))),
        a=Chemical(table.choice("a", list(Chemical))),
        b=table.choice("b", [*Chemical, ANYTHING]),
        product=table.text("product"),
        why=table.text("why"),
        source=table.text("source"),
        standing=table.choice("standing", Standing.values),
    )
    table.done()
    if rule.a == rule.b:
        raise CatalogueFault(table.where, "a class cannot be kept from itself")
    return rule

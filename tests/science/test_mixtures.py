"""What must not meet."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.catalogue.mixtures import PATH, meet, mixtures
from chemistry.catalogue.schema import CatalogueFault
from chemistry.science.mixtures import Chemical, Level, Rule, verdicts

SOLUTIONS = st.frozensets(st.sampled_from(Chemical))
ACID, SULFIDE = Chemical.ACID, Chemical.SULFIDE


def pairs(found):
    return {(verdict.level, frozenset((verdict.a, verdict.b))) for verdict in found}


@given(SOLUTIONS, SOLUTIONS)
def test_it_does_not_matter_which_is_poured_into_which(one, other):
    assert pairs(meet(one, other)) == pairs(meet(other, one))


@given(SOLUTIONS)
def test_the_same_solution_poured_together_says_nothing(one):
    assert meet(one, one) == ()


@given(SOLUTIONS)
def test_nothing_in_it_nothing_said(one):
    assert meet(one, frozenset()) == ()


@given(SOLUTIONS, SOLUTIONS)
def test_what_is_blocked_comes_first(one, other):
    levels = [verdict.level for verdict in meet(one, other)]

    assert levels == sorted(levels)


@given(SOLUTIONS, SOLUTIONS, SOLUTIONS)
def test_more_in_the_can_never_takes_a_danger_away_that_is_not_in_both(poured, can, more):
    """What was said of the can before is still said, or its pair now stands in both."""
    still = pairs(meet(poured, can | more))
    for level, pair in pairs(meet(poured, can)):
        assert (level, pair) in still or (pair <= poured and pair <= can | more)


@given(SOLUTIONS, SOLUTIONS)
def test_a_verdict_names_what_is_in_each(one, other):
    for verdict in meet(one, other):
        assert verdict.a in one
        assert verdict.b in other


def test_bleach_is_kept_from_everything_there_is():
    for other in set(Chemical) - {Chemical.HYPOCHLORITE}:
        found = meet(frozenset({Chemical.HYPOCHLORITE}), frozenset({other}))
        assert Level.BLOCK in {verdict.level for verdict in found}


def test_no_pair_has_two_rules_of_its_own():
    rules = mixtures().rules
    named = [rule for rule in rules if rule.b]

    assert len({frozenset((rule.a, rule.b)) for rule in named}) == len(named)
    for a, b in combinations(Chemical, 2):
        found = meet(frozenset({a}), frozenset({b}))
        assert len(found) <= 2  # two only where each of them is kept from everything


def test_every_class_is_explained_and_every_rule_gives_its_reason():
    page = mixtures()

    assert set(page.meanings) == set(Chemical)
    assert all(rule.why.endswith(".") and rule.source and rule.standing for rule in page.rules)


def test_a_rule_for_anything_leaves_out_what_another_rule_names():
    def rule(b, level):
        return Rule(level, ACID, b, "gas", "Because.", "A test", "computed")

    rules = (rule("", Level.BLOCK), rule(SULFIDE, Level.WARN))
    found = verdicts(frozenset({ACID}), frozenset({SULFIDE, Chemical.ALKALI}), rules)

    assert [(v.level, v.b) for v in found] == [
        (Level.BLOCK, Chemical.ALKALI),
        (Level.WARN, SULFIDE),
    ]


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ('level = "warn"', 'level = "mind"', "level is 'mind'"),
        ('a = "SELENIUM"', 'a = "ACID"', "cannot be kept from itself"),
        ('a = "SULFIDE"\nb = "ACID"', 'a = "ACID"\nb = "SELENIUM"', "the same pair"),
        ('ALKALI = { label = "strong alkali",', "ALKALI = {", "label is missing"),
        ('standing = "read"', 'standing = "hearsay"', "standing is 'hearsay'"),
    ],
)
def test_reading_the_rules_refuses(tmp_path, old, new, complaint):
    text = PATH.read_text(encoding="utf-8")
    assert old in text
    page = tmp_path / "mixtures.toml"
    page.write_text(text.replace(old, new, 1), encoding="utf-8")

    with pytest.raises(CatalogueFault, match=complaint):
        mixtures(page)

"""The states a bottle, a bath or a waste container can be in: a word and a pattern each."""

from dataclasses import dataclass


@dataclass(frozen=True)
class State:
    """``pattern`` is a hatch of ``parts/defs.html``, ``tone`` the colour token that helps it."""

    word: str
    pattern: str
    tone: str
    fill_share: float


STATES = {
    "fresh": State("Fresh", "fresh", "moss", 1.0),
    "low": State("Low", "low", "straw", 0.4),
    "spent": State("Spent", "spent", "lamp", 1.0),
    "out_of_date": State("Out of date", "out-of-date", "lamp", 1.0),
    "stopped": State("Stopped", "stopped", "lamp", 1.0),
    "owed": State("Owed", "owed", "straw", 0.6),
    "not_yet_usable": State("Not yet usable", "not-yet-usable", "water", 1.0),
    "nearly_full": State("Nearly full", "low", "straw", 0.8),
    "full": State("Full", "spent", "lamp", 1.0),
}


def state_of(key: str) -> State:
    """The state called ``key``, with dashes or underscores.

    Raises: KeyError for a state that has no mark of its own.
    """
    return STATES[key.replace("-", "_")]

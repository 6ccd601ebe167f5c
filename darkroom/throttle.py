"""Slows down whoever guesses passwords. Each web process counts for itself."""

from __future__ import annotations

import hashlib

from django.core.cache import cache

MOST_FAILURES = 8
FORGOTTEN_AFTER_S = 15 * 60


def is_shut(email: str, address: str) -> bool:
    return int(cache.get(_key(email, address), 0)) >= MOST_FAILURES


def note_failure(email: str, address: str) -> None:
    key = _key(email, address)
    # add keeps the first failure's clock running, so that the door opens again by itself.
    cache.add(key, 0, FORGOTTEN_AFTER_S)
    try:
        cache.incr(key)
    except ValueError:
        cache.set(key, 1, FORGOTTEN_AFTER_S)


def forget(email: str, address: str) -> None:
    cache.delete(_key(email, address))


def _key(email: str, address: str) -> str:
    return "sign-in-" + hashlib.sha256(f"{email.lower()} {address}".encode()).hexdigest()

"""Reasons for which a vessel, or the whole house, cannot take what a member brings."""

from __future__ import annotations


class Unsuitable(Exception):
    """Why a vessel cannot be offered, with a sentence that says what would make it work."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(code, sentence)
        self.code = code
        self.sentence = sentence

    def __str__(self) -> str:
        return self.sentence

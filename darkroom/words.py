"""Words that people have to give: checked, and put together from lists."""

from __future__ import annotations

from collections.abc import Iterable

from darkroom.errors import DomainError


class WordsWanted(DomainError):
    """The words are missing, or too many."""

    code = "words_wanted"


def checked_words(text: str, *, most: int, field: str, missing: str) -> str:
    """The text without blanks around it."""
    plain = " ".join(text.split())
    if not plain:
        raise WordsWanted(missing, field=field)
    if len(plain) > most:
        raise WordsWanted(f"Use at most {most} characters; this has {len(plain)}.", field=field)
    return plain


def one_of(names: Iterable[str]) -> str:
    """``A``, ``A or B``, ``A, B or C``."""
    *others, last = names
    return f"{', '.join(others)} or {last}" if others else last

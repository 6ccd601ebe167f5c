"""Codes of bottles and containers as they come from outside."""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import register_converter

MOST = 12


class CodeConverter:
    """``<code:code>``: what a bottle or a container may be called."""

    regex = rf"[^/\x00]{{1,{MOST}}}"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


def plausible(values: Iterable[str]) -> list[str]:
    """Those that can be a code at all."""
    return [value for value in values if "\x00" not in value and 0 < len(value) <= MOST]


register_converter(CodeConverter, "code")

"""Giving a session another time, or giving it up."""

from __future__ import annotations

from chemistry.forms.fields import KeyedForm
from sessions.forms.start import StartForm


class MoveForm(StartForm):
    """The new start; everything else stays as it was planned."""


class CancelForm(KeyedForm):
    """Nothing but the form's key: the question is the page itself."""

"""The components as template tags; each has its markup in ``templates/parts/``."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Any

from django import template
from django.forms import BaseForm, BoundField
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.safestring import SafeString

from darkroom import drawing
from darkroom.models import Format

register = template.Library()

Number = int | float | Decimal
SPACE = "\u00a0"
MINUS = "\u2212"


@register.filter
def number(value: Number | None, places: int | None = None) -> str:
    """``value`` with unbreakable spaces between thousands; without ``places`` no trailing zeros."""
    if value is None:
        return "–"
    exact = Decimal(str(value))
    if places is not None:
        exact = exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    text = f"{abs(exact):,f}".replace(",", SPACE)
    if places is None and "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{MINUS}{text}" if exact < 0 else text


@register.filter
def short(value: Decimal | None) -> str:
    """As ``number``, to two decimals where it is one or more: 13.3333 → 13.33."""
    return number(value if value is None or abs(value) < 1 else round(value, 2))


@register.filter
def clock(minutes: Number) -> str:
    """Minutes as minutes and seconds, 7.5 → 7:30."""
    seconds = int((Decimal(str(minutes)) * 60).quantize(Decimal(1), ROUND_HALF_UP))
    return f"{seconds // 60}:{seconds % 60:02d}"


@register.filter
def of(number: int, size: Format) -> str:
    """``6 sheets of 4×5``"""
    return size.counted(number)


@register.inclusion_tag("parts/icon.html")
def icon(name: str) -> dict[str, str]:
    return {"name": name}


@register.inclusion_tag("parts/state.html")
def state(key: str, says: str = "") -> dict[str, Any]:
    """The mark of a state with its word, or with ``says`` instead of the word."""
    found = drawing.state_of(key)
    height = round(18 * found.fill_share, 1)
    return {"state": found, "says": says or found.word, "height": height, "y": 19 - height}


@register.inclusion_tag("parts/figure.html")
def figure(
    value: Number | str, unit: str = "", label: str = "", size: str = "", note: str = ""
) -> dict[str, str]:
    shown = value if isinstance(value, str) else number(value)
    return {"value": shown, "unit": unit, "label": label, "size": size, "note": note}


@register.inclusion_tag("parts/waterline.html")
def waterline(
    volume: Number,
    capacity: Number,
    kind: str = "bottle",
    state: str = "fresh",
    limit: Number | None = None,
    unit: str = "mL",
    name: str = "",
) -> dict[str, Any]:
    """The vessel with its level; the number stands on the waterline."""
    return {
        "drawn": drawing.waterline(
            float(volume),
            float(capacity),
            kind=kind,
            limit=None if limit is None else float(limit),
        ),
        "state": drawing.state_of(state),
        "volume": number(volume),
        "capacity": number(capacity),
        "limit": None if limit is None else number(limit),
        "missing": number(_missing(volume, capacity if limit is None else limit)),
        "unit": unit,
        "name": name,
    }


# The vessel alone, for a line in a list.
register.inclusion_tag("parts/waterline_small.html", name="waterline_small")(waterline)


def _missing(volume: Number, brim: Number) -> Decimal:
    return max(Decimal(0), Decimal(str(brim)) - Decimal(str(volume)))


@register.inclusion_tag("parts/wear_rule.html")
def wear_rule(
    used_au: Number,
    limit_au: Number,
    promised_au: Number = 0,
    state: str = "fresh",
    low_au: Number | None = None,
    word: str = "used",
) -> dict[str, Any]:
    """The ruler; ``word`` says what fills it: used, owed."""
    return {
        "drawn": drawing.wear_rule(
            float(used_au),
            float(limit_au),
            promised_au=float(promised_au),
            low_au=None if low_au is None else float(low_au),
        ),
        "state": drawing.state_of(state),
        "used": number(_tenths(used_au)),
        "promised": number(_tenths(promised_au)) if promised_au else "",
        "limit": number(_short_limit(limit_au)),
        "word": word,
    }


def _short_limit(value: Number) -> Decimal:
    """As much of it as there is room for; never more than the limit."""
    exact = Decimal(str(value))
    return exact.quantize(Decimal("0.1" if exact >= 10 else "0.01"), ROUND_FLOOR)


def _tenths(value: Number) -> Decimal:
    return Decimal(str(value)).quantize(Decimal("0.1"), ROUND_HALF_UP)


@register.inclusion_tag("parts/day_strip.html")
def day_strip(
    lanes: Iterable[drawing.Lane],
    opens_at: datetime,
    closes_at: datetime,
    now: datetime | None = None,
    says: str = "The day",
) -> dict[str, Any]:
    """Equipment against the hours; the labels are in the current time zone."""
    rows = tuple(lanes)
    opens = timezone.localtime(opens_at)
    return {
        "strip": drawing.day_strip(rows, opens_at=opens, closes_at=closes_at, now=now),
        "says": says,
    }


@register.inclusion_tag("parts/field.html")
def field(bound: BoundField, unit: str = "", wide: bool = False) -> dict[str, Any]:
    """One field of a form, with its unit, help and errors."""
    kind = getattr(bound.field.widget, "input_type", "text")
    return {"field": bound, "unit": unit, "wide": wide, "kind": kind}


@register.inclusion_tag("parts/form_errors.html")
def form_errors(form: BaseForm) -> dict[str, BaseForm]:
    """What is wrong with the form as a whole, above its fields."""
    return {"form": form}


@register.inclusion_tag("parts/table.html")
def table(
    columns: Sequence[str],
    rows: Iterable[Sequence[Any]],
    caption: str = "",
    foot: Sequence[Any] | None = None,
) -> dict[str, Any]:
    """A table that stacks on a phone; a column whose title starts with ``#`` holds numbers."""
    heads = [{"label": c.removeprefix("#"), "is_number": c.startswith("#")} for c in columns]
    return {
        "heads": heads,
        "rows": [list(zip(heads, row, strict=True)) for row in rows],
        "foot": None if foot is None else list(zip(heads, foot, strict=True)),
        "caption": caption,
    }


@register.inclusion_tag("parts/button.html")
def button(
    says: str, kind: str = "", icon: str = "", name: str = "", value: str = "", form: str = ""
) -> dict[str, str]:
    """The button that sends the form it stands in, or the one whose id is ``form``."""
    return {"says": says, "kind": kind, "icon": icon, "name": name, "value": value, "form": form}


@register.inclusion_tag("parts/link_button.html")
def link_button(url: str, says: str, kind: str = "", icon: str = "") -> dict[str, str]:
    return {"url": url, "says": says, "kind": kind, "icon": icon}


@register.inclusion_tag("parts/post_button.html", takes_context=True)
def post_button(
    context: template.Context, url: str, says: str, kind: str = "", icon: str = "", **hidden: Any
) -> dict[str, Any]:
    """A form of one button; further keywords become hidden fields."""
    return {
        "csrf_token": context.get("csrf_token"),
        "url": url,
        "says": says,
        "kind": kind,
        "icon": icon,
        "hidden": hidden,
    }


@register.simple_block_tag
def card(
    content: SafeString,
    title: str = "",
    state: str = "",
    url: str = "",
    over: str = "",
    level: int = 3,
) -> SafeString:
    """An enamel plate; ``over`` is the small line above the title, ``level`` its heading's."""
    found = drawing.state_of(state) if state else None
    return render_to_string(
        "parts/card.html",
        {
            "content": content,
            "title": title,
            "state": found,
            "state_key": state,
            "url": url,
            "over": over,
            "level": level,
        },
    )


@register.simple_block_tag
def notice(content: SafeString, kind: str = "plain", title: str = "") -> SafeString:
    return render_to_string("parts/notice.html", {"content": content, "kind": kind, "title": title})


@register.simple_block_tag
def empty_state(content: SafeString, title: str, icon: str = "bottle") -> SafeString:
    return render_to_string(
        "parts/empty_state.html", {"content": content, "title": title, "icon": icon}
    )


@register.simple_block_tag
def fold(content: SafeString, title: str, is_open: bool = False) -> SafeString:
    return render_to_string(
        "parts/fold.html", {"content": content, "title": title, "is_open": is_open}
    )


@register.simple_block_tag
def action_bar(content: SafeString, says: str = "") -> SafeString:
    """What will happen, in one sentence, and the page's strong button."""
    return render_to_string("parts/action_bar.html", {"content": content, "says": says})

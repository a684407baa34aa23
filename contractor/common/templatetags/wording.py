"""How numbers, dates and money are written on every screen and paper."""

from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal

from django import template
from django.utils import timezone

register = template.Library()
MISSING = "—"


@register.filter
def money(value) -> str:
    """1234.5 -> £1,234.50"""
    if value in (None, ""):
        return MISSING
    amount = Decimal(str(value)).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
    return f"−£{-amount:,.2f}" if amount < 0 else f"£{amount:,.2f}"


@register.filter
def mm(value) -> str:
    """2385 -> 2,385 mm (fractions of board thickness are kept)"""
    if value in (None, ""):
        return MISSING
    return f"{Decimal(str(value)).normalize():,f} mm"


@register.filter
def quantity(value, places=None) -> str:
    """A count or measure with thousands marked and no trailing zeros; `places` fixes the decimals."""
    if value in (None, ""):
        return MISSING
    number = Decimal(str(value))
    if places is not None:
        step = Decimal(1).scaleb(-int(places))
        return f"{number.quantize(step, rounding=ROUND_HALF_UP):,f}"
    return f"{number.normalize():,f}"


@register.filter
def counted(value, unit: str) -> str:
    """2, "bag" -> 2 bags; 3.46, "m²" -> 3.46 m²: words take a plural, signs do not."""
    is_word = len(unit) > 2 and unit.isalpha() and not unit.endswith("s")
    ending = ("es" if unit.endswith(("x", "ch", "sh")) else "s") if is_word and Decimal(str(value)) != 1 else ""
    return f"{quantity(value)} {unit}{ending}".rstrip()


@register.filter
def percent(value, places=0) -> str:
    """0.274 -> 27 %"""
    if value in (None, ""):
        return MISSING
    return f"{Decimal(str(value)) * 100:.{int(places)}f} %"


@register.filter
def signed(value) -> str:
    """-5 -> −5, 2 -> +2, 0 -> 0"""
    if value in (None, ""):
        return MISSING
    return "0" if value == 0 else f"{value:+}".replace("-", "−")


@register.filter
def day(value) -> str:
    """25 Nov 2026"""
    if not value:
        return MISSING
    if isinstance(value, str):
        value = datetime.fromisoformat(value)
    if isinstance(value, datetime):
        value = timezone.localtime(value).date() if timezone.is_aware(value) else value.date()
    assert isinstance(value, date)
    return f"{value.day} {value:%b %Y}"


@register.filter
def moment(value) -> str:
    """25 Nov 2026, 14:05"""
    if not value:
        return MISSING
    if isinstance(value, str):
        value = datetime.fromisoformat(value)
    local = timezone.localtime(value)
    return f"{day(local)}, {local:%H:%M}"


@register.filter
def unit(bound_field) -> str:
    """The unit that a form field carries, or nothing."""
    return bound_field.field.widget.attrs.get("data-unit", "")


@register.filter
def item(mapping, key):
    """mapping[key], for the few tables whose keys are data."""
    return mapping.get(key)

"""What changes the firm's rules."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.text import slugify

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.rooms.models import Rule
from contractor.rooms.rules.book import shipped


@transaction.atomic
def rule_save(*, rule: Rule, by: User) -> Rule:
    """Save the firm's form of a rule; a new one gets a key from its name."""
    if not rule.key:
        rule.key = _free_key(rule.name)
    is_known = rule.pk is not None or rule.key in shipped()
    rule.full_clean()
    rule.save()
    record(user=by, action="Survey rule changed" if is_known else "Survey rule added", subject=rule, effect=rule.effect)
    return rule


@transaction.atomic
def rule_restore(*, rule: Rule, by: User) -> None:
    """Take the firm's form away: a shipped rule holds again as it shipped, one of the firm's own is gone."""
    if rule.pk is None:
        raise ValidationError("This rule stands as it was shipped.")
    is_shipped = rule.key in shipped()
    record(user=by, action="Survey rule as shipped again" if is_shipped else "Survey rule deleted", subject=rule)
    rule.delete()


def _free_key(name: str) -> str:
    base = slugify(name)[:50] or "rule"
    taken = set(shipped()) | set(Rule.objects.values_list("key", flat=True))
    tries = (base if n == 1 else f"{base}-{n}" for n in range(1, 10_000))
    return next(key for key in tries if key not in taken)

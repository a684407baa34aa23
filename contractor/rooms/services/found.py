"""What changes the findings on a surface, and sets rules aside."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.rooms.models import Finding, Opening, Patch, RuleOverride, SidePath, Surface
from contractor.rooms.rules.book import RuleText
from contractor.rooms.rules.sheet import RuledPlace

COLUMN = {Patch: "patch", Opening: "opening", SidePath: "side_path"}


@transaction.atomic
def finding_save(*, finding: Finding) -> Finding:
    """Save the findings of a surface; somebody else's first saving of the same surface is replaced, not doubled."""
    Surface.objects.select_for_update().get(pk=finding.surface_id)
    if finding.pk is None:
        finding.pk = Finding.objects.filter(surface=finding.surface_id).values_list("pk", flat=True).first()
    finding.full_clean(validate_unique=False)
    finding.save()
    return finding


def override_on(place: RuledPlace) -> RuleOverride:
    """An unsaved row that a form fills."""
    return RuleOverride(**_on(place))


def _on(place: RuledPlace) -> dict[str, RuledPlace]:
    return {COLUMN[type(place)]: place}


@transaction.atomic
def rule_set_aside(*, place: RuledPlace, rule: RuleText, reason: str, by: User) -> RuleOverride:
    """Let a rule not hold on a patch, an opening or a side path. ValidationError for one that is firm, or without a reason."""
    if rule.is_firm:
        raise ValidationError("This rule cannot be set aside.")
    type(place).objects.select_for_update().get(pk=place.pk)
    on = _on(place)
    RuleOverride.objects.filter(**on, rule_key=rule.key, withdrawn_at=None).update(withdrawn_at=timezone.now())
    override = RuleOverride(**on, rule_key=rule.key, rule_name=rule.name, reason=reason, by=by)
    override.full_clean()
    override.save()
    record(
        user=by,
        action="Rule set aside",
        subject=override.room.job,
        rule=rule.name,
        where=override.where,
        reason=reason,
    )
    return override


@transaction.atomic
def override_withdraw(*, override: RuleOverride, by: User) -> None:
    """The rule holds again; the row stays."""
    if RuleOverride.objects.filter(pk=override.pk, withdrawn_at=None).update(withdrawn_at=timezone.now()):
        record(user=by, action="Rule in force again", subject=override.room.job, rule=override.rule_name)

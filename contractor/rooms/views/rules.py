"""The firm's rules: read, changed, added to, and put back as they shipped."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.rooms import selectors_found as found
from contractor.rooms import services
from contractor.rooms.forms.rules import RuleForm
from contractor.rooms.models import Rule
from contractor.rooms.rules.book import RuleText, rulebook
from contractor.rooms.rules.wording import said_reason, said_rule


@office_only
@require_GET
def rules(request: HttpRequest) -> HttpResponse:
    book = rulebook()
    names = {allowance.key: allowance.name for allowance in found.allowances()}
    groups = [
        {"effect": effect, "rules": [_shown(rule, names) for rule in book if rule.effect == effect]}
        for effect in Rule.Effect
    ]
    return render(request, "rooms/rules.html", {"groups": [group for group in groups if group["rules"]]})


def _shown(rule: RuleText, names: dict[str, str]) -> dict:
    works = [names.get(work["allowance"], work["allowance"]) for work in rule.works]
    return {
        "rule": rule,
        "reason": said_reason(rule.reason),
        "works": works,
        **{f"{key}_of": said for key, said in said_rule(rule).items()},
    }


@office_only
def rule_new(request: HttpRequest) -> HttpResponse:
    return _rule(request, None, Rule(effect=Rule.Effect.WARN))


@office_only
def rule(request: HttpRequest, key: str) -> HttpResponse:
    row = found.rule_row(key)
    return _rule(request, next(rule for rule in rulebook() if rule.key == key), row)


def _rule(request: HttpRequest, rule: RuleText | None, row: Rule) -> HttpResponse:
    form = RuleForm(request.POST or None, rule=rule, row=row, allowances=found.allowances())
    if request.method == "POST" and form.is_valid():
        form.instance.conditions, form.instance.works = form.conditions, form.works
        try:
            saved = services.rule_save(rule=form.instance, by=request.user)
        except ValidationError as refused:  # somebody else has changed the same shipped rule in the meantime
            form.add_error(None, refused.messages)
        else:
            messages.success(request, f"“{saved.name}” is saved. Every survey is weighed by it from now on.")
            return redirect("rooms:rules")
    return render(request, "rooms/rule.html", {"form": form, "rule": rule, "row": row})


@office_only
@require_POST
def rule_restore(request: HttpRequest, key: str) -> HttpResponse:
    row = found.rule_row(key)
    try:
        services.rule_restore(rule=row, by=request.user)
    except ValidationError as refused:
        messages.info(request, refused.messages[0])
    else:
        messages.success(request, f"“{row.name}” is back as it was, or gone if it was your own.")
    return redirect("rooms:rules")

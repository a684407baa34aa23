"""What the firm learns from its own jobs: for the owner."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import owner_only
from contractor.accounts.selectors import the_firm
from contractor.jobs.selectors import stage_counts
from contractor.learning import drawings, selectors, services
from contractor.learning.differences import FEWEST, Group, grouped, rule_of
from contractor.learning.hours import by_build_up
from contractor.learning.material import Row, money_of
from contractor.learning.material import by_build_up as by_material
from contractor.learning.pipeline import outcomes, stage_rows


@owner_only
@require_GET
def sound(request: HttpRequest) -> HttpResponse:
    """Measured beside predicted, and the rule that may widen or narrow the stated uncertainty."""
    cases, left_out = selectors.cases()
    before, after = ([c for c in cases if c.moment == moment] for moment in ("before", "after"))
    blocks = [
        ("Before the work, by what stands", grouped(before, "construction")),
        ("After the work, by what stands", grouped(after, "construction")),
        ("After the work, by what was built", grouped(after, "build_up")),
    ]
    context = {
        "cases": sorted(cases, key=lambda c: (-c.job_number, c.room, c.moment == "after")),
        "left_out": left_out,
        "blocks": [(title, groups) for title, groups in blocks if groups],
        "all_of": [Group(name="Before the work", cases=before), Group(name="After the work", cases=after)],
        "d": drawings.dots(blocks) if cases else None,
        "rule": rule_of(cases),
        "fewest": FEWEST,
        "firm": the_firm(),
    }
    return render(request, "learning/sound.html", context)


@owner_only
@require_POST
def switch(request: HttpRequest) -> HttpResponse:
    firm = services.learning_switch(on=request.POST.get("learn") == "on", by=request.user)
    if firm.learns_uncertainty:
        messages.success(request, "Your own sound tests set the range of each prediction from now on.")
    else:
        messages.success(request, "Predictions state the model’s own range again.")
    return redirect("learning:sound")


@owner_only
@require_GET
def hours(request: HttpRequest) -> HttpResponse:
    """Hours quoted against used, and pieces made again, by build-up."""
    jobs = selectors.finished_hours()
    rows = by_build_up(jobs)
    drawn = [
        (f"{r.name}\u00a0({r.job_count})", [(r.quoted, f"{r.quoted:.1f} h quoted"), (r.used, f"{r.used:.1f} h used")])
        for r in rows
    ]
    text = " ".join(f"{r.name}: {r.quoted:.1f} hours quoted, {r.used:.1f} used." for r in rows)
    goods = selectors.finished_material()
    material = by_material(goods)
    context = {
        "jobs": jobs,
        "rows": rows,
        "d": drawings.bars(drawn, "Hours quoted (open) and used (filled)", text) if rows else None,
        "pieces": selectors.pieces_made(),
        "material": material,
        "material_d": _material_drawn(material) if material else None,
        "goods": goods,
        "fewest": FEWEST,
    }
    return render(request, "learning/hours.html", context)


def _material_drawn(material: list[tuple[str, list[Row]]]) -> dict:
    """Money of each build-up's material, quoted and used, at the prices of the quotes."""
    drawn, told = [], []
    for name, rows in material:
        quoted, used = money_of(rows)
        drawn.append((name, [(quoted, f"£{quoted:,.0f} quoted"), (used, f"£{used:,.0f} used")]))
        told.append(f"{name}: £{quoted:,.0f} quoted, £{used:,.0f} used.")
    return drawings.bars(drawn, "Material quoted (open) and used (filled), at the quotes’ prices", " ".join(told))


@owner_only
@require_GET
def pipeline(request: HttpRequest) -> HttpResponse:
    """Jobs by stage with what they are worth, how proposals were answered and why they were not accepted."""
    proposals = selectors.proposals()
    rows = stage_rows(stage_counts(), proposals)
    drawn = [
        (r.label, [(r.count, f"{r.count:,} · £{r.money:,.0f}" if r.quoted_count else f"{r.count:,}")]) for r in rows
    ]
    text = " ".join(f"{r.label}: {r.count}." for r in rows)
    context = {
        "rows": rows,
        "has_jobs": any(row.count for row in rows),
        "d": drawings.bars(drawn, "Jobs by stage, and what their quotes come to", text),
        "outcomes": outcomes(proposals, timezone.localdate()),
        "reasons": selectors.reasons(),
        "fewest": FEWEST,
    }
    return render(request, "learning/pipeline.html", context)

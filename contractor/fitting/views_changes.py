"""What turned out otherwise on a surface: a board spoiled, another size. One page, kept by the phones."""

from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_http_methods

from contractor.accounts.access import anyone_signed_in
from contractor.fitting import acting_cuts, selectors, services, swap_services
from contractor.fitting.frame import frame, pack_or_404
from contractor.site.kinds import kind_of
from contractor.site.models import Act
from contractor.site.services import act_take

ACTS = ("swap", "measure")


@gzip_page
@require_http_methods(["GET", "POST"])
@anyone_signed_in
def changes(request: HttpRequest, number: int, key: str) -> HttpResponse:
    """The forms queue acts; without script they are sent here and come to the same."""
    job = selectors.job_on_site(request.user, number)
    found = pack_or_404(job)
    face = next((face for face in found.document["faces"] if face["key"] == key and face["layers"]), None)
    if face is None:
        raise Http404("Nothing is cut for such a surface.")
    name = request.POST.get("act", "")
    form = None
    if request.method == "POST":
        if name not in ACTS:
            raise Http404("There is no such form.")
        form = kind_of(name).form(request.POST)
        if form.is_valid():
            payload = {field: request.POST.get(field, "") for field in form.fields}
            act = act_take(
                key=uuid4(), job=job, person=request.user, kind=name, payload=payload, done_at=timezone.now()
            )
            say = messages.success if act.outcome == Act.Outcome.APPLIED else messages.error
            say(request, act.told or "Done.")
            return redirect("fitting:changes", number, key)
    rows = acting_cuts.swap_rows(found, swap_services.offers_for(found, key))
    for row in rows:
        row["form"] = form if name == "swap" and form and form.data.get("piece") == row["piece"]["key"] else None
    initial = {"face": key, "seen": acting_cuts.size_seen(face)}
    measuring = form if name == "measure" else acting_cuts.MeasureActForm(initial=initial)
    context = frame(request, job, "cuts", f"Changes: {face['label']}") | {
        "pack": found,
        "face": face,
        "rows": rows,
        "measuring": measuring if services.can_remeasure(face) else None,
        "will": acting_cuts.will_change(found, key),
    }
    return render(request, "fitting/changes.html", context)

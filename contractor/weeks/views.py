"""The firm's week, the days of a job laid out from its hours, and each person's calendar feed."""

from datetime import date, timedelta

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST, require_safe

from contractor.accounts.access import anyone_signed_in, office_only
from contractor.accounts.selectors import the_firm
from contractor.common.htmx import page_or_region
from contractor.common.links import made_private
from contractor.jobs.dates import asked_day
from contractor.jobs.models import Visit
from contractor.jobs.selectors import closed_from, job_for
from contractor.jobs.thread import thread_for
from contractor.quotes.options import rates_of
from contractor.quotes.programme import work_of
from contractor.weeks import selectors, services
from contractor.weeks.clashes import earliest_first_day
from contractor.weeks.feed import calendar_of
from contractor.weeks.forms import DayOffForm, DaysForm, MoveForm, YearForm
from contractor.weeks.laying import is_wet, lay_out, working_days


@office_only
@require_GET
def week(request: HttpRequest) -> HttpResponse:
    return _week(request, _monday(asked_day(request.GET.get("from", "")) or timezone.localdate()))


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _week(request: HttpRequest, monday: date, problems: list[str] | None = None) -> HttpResponse:
    context = {
        "week": selectors.week_of(monday),
        "before": monday - timedelta(days=7),
        "after": monday + timedelta(days=7),
        "today": timezone.localdate(),
        "problems": problems or [],
    }
    return render(request, page_or_region(request, "weeks/week.html", "week"), context)


@office_only
@require_POST
def move(request: HttpRequest, visit_id: int) -> HttpResponse:
    """To another day or person. Answers with the week as it then stands, and says why where it is refused."""
    visit = selectors.visit_by_id(visit_id)
    was_on = visit.on_date
    form = MoveForm(request.POST)
    problems: list[str] = []
    if form.is_valid():
        try:
            services.visit_move(visit=visit, by=request.user, **form.cleaned_data)
        except ValidationError as refused:
            problems = refused.messages
    else:
        problems = ["That is no day to move it to."]
    monday = _monday(asked_day(request.POST.get("week", "")) or was_on)
    if request.htmx:
        return _week(request, monday, problems)
    for problem in problems:
        messages.error(request, problem)
    return redirect(f"{reverse('weeks:week')}?from={monday:%Y-%m-%d}")


@office_only
@require_http_methods(["GET", "POST"])
def days_off(request: HttpRequest) -> HttpResponse:
    """When the firm is closed and who is away: listed, and added to."""
    form = DayOffForm(request.POST or None)
    if form.is_valid():
        services.day_off_save(day_off=form.save(commit=False), by=request.user)
        messages.success(request, "The days off are kept.")
        return redirect("weeks:days-off")
    this_year = timezone.localdate().year
    context = {"form": form, "days_off": selectors.days_off_to_come(), "years": [this_year, this_year + 1]}
    return render(request, "weeks/days_off.html", context)


@office_only
@require_http_methods(["GET", "POST"])
def day_off(request: HttpRequest, day_off_id: int) -> HttpResponse:
    form = DayOffForm(request.POST or None, instance=selectors.day_off_for(day_off_id))
    if form.is_valid():
        services.day_off_save(day_off=form.save(commit=False), by=request.user)
        messages.success(request, "The days off are saved.")
        return redirect("weeks:days-off")
    return render(request, "weeks/day_off.html", {"form": form, "day_off": selectors.day_off_for(day_off_id)})


@office_only
@require_POST
def day_off_delete(request: HttpRequest, day_off_id: int) -> HttpResponse:
    services.day_off_delete(day_off=selectors.day_off_for(day_off_id), by=request.user)
    messages.success(request, "They are working days again.")
    return redirect("weeks:days-off")


@office_only
@require_POST
def bank_holidays(request: HttpRequest) -> HttpResponse:
    form = YearForm(request.POST)
    if form.is_valid():
        year = form.cleaned_data["year"]
        count = services.bank_holidays_add(year=year, by=request.user)
        messages.success(request, f"{count} bank holiday{'' if count == 1 else 's'} of {year} added.")
    return redirect("weeks:days-off")


@office_only
@require_http_methods(["GET", "POST"])
def days(request: HttpRequest, number: int) -> HttpResponse:
    """The days of a job from its hours: looked at by a GET with a first day, booked by a POST."""
    job = job_for(number)
    calculation = selectors.accepted_calculation(job)
    if calculation is None:
        return _days_page(request, job, {"form": None})
    firm = the_firm()
    facts = selectors.facts_of([job])[job.pk]
    data = request.POST or (request.GET if "first" in request.GET else None)
    today = timezone.localdate()
    closed = closed_from(today)
    form = DaysForm(data, initial={"first": earliest_first_day(today, facts, closed)})
    is_valid = form.is_valid()
    asked = getattr(form, "cleaned_data", {})
    people = asked.get("people")
    crew = len(people) if people else firm.crew_size
    planned = lay_out(
        work=work_of(calculation.takeoff, rates_of(firm)), is_wet=is_wet(calculation.takeoff),
        first=asked.get("first") or form.initial["first"], crew_size=crew, day_hours=firm.day_hours,
        closed=closed,
    )  # fmt: skip
    if request.method == "POST" and is_valid:
        try:
            count = services.days_book(
                job=job, planned=planned, starts_at=form.cleaned_data["starts_at"], people=people, by=request.user
            )
        except ValidationError as refused:
            for message in refused.messages:
                form.add_error(None, message)
        else:
            messages.success(request, f"{count} days are booked. Look at the week for what stands against them.")
            return redirect(f"{reverse('weeks:week')}?from={planned[0].on_date:%Y-%m-%d}")
    against = selectors.against_people(people or [], [day.on_date for day in planned])
    context = {
        "form": form,
        "planned": [(day, against.get(day.on_date, []) if day.is_work else []) for day in planned],
        "day_count": working_days(planned),
        "crew": crew,
        "firm": firm,
        "facts": facts,
        "booked": list(job.visits.filter(purpose=Visit.Purpose.FITTING).order_by("on_date")),
    }
    return _days_page(request, job, context)


def _days_page(request: HttpRequest, job, context: dict) -> HttpResponse:
    return render(request, "weeks/days.html", {"job": job, "thread": thread_for(job, "programme"), **context})


@anyone_signed_in
@never_cache
@require_http_methods(["GET", "POST"])
def calendar(request: HttpRequest) -> HttpResponse:
    """One's own feed: make a new address (shown once), or end it."""
    address = ""
    if request.method == "POST":
        if "end" in request.POST:
            services.calendar_link_revoke(person=request.user)
            messages.success(request, "The address opens nothing any more.")
            return redirect("weeks:calendar")
        token = services.calendar_link_make(person=request.user)
        address = request.build_absolute_uri(reverse("weeks:feed", args=[token]))
    subscription = f"webcal://{address.partition('://')[2]}"
    context = {"link": selectors.live_link(request.user), "address": address, "subscription": subscription}
    return render(request, "weeks/calendar.html", context)


@login_not_required
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    link = selectors.link_behind(token)
    if link is None:
        response = HttpResponse("This calendar address opens nothing.", status=404, content_type="text/plain")
    else:
        services.note_read(link=link)
        body = calendar_of(link.person, selectors.visits_for_feed(link.person), the_firm())
        response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
        response["Content-Disposition"] = 'inline; filename="visits.ics"'
    return made_private(response)

"""The office's side: the quote as it stands, lines by hand, sending, and what was sent."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from contractor.accounts.access import office_only
from contractor.accounts.selectors import the_firm
from contractor.common.files import file_response
from contractor.common.links import show_once, shown_once
from contractor.common.pdf import pdf_response
from contractor.jobs.models import Job
from contractor.jobs.selectors import job_for
from contractor.jobs.thread import thread_for
from contractor.quotes import drafts, gaps, hand_services, paper, selectors, services
from contractor.quotes.differences import Differences, differences
from contractor.quotes.document import canonical, fingerprint, is_as_frozen, today_in_short
from contractor.quotes.drafts import edited_by_hand
from contractor.quotes.following import reminders_of
from contractor.quotes.forms import ExtraLineForm, SendForm
from contractor.quotes.mail import proposal_address
from contractor.quotes.models import Revision
from contractor.quotes.options import options_of, rooms_side_by_side

STEP = "quote"
TOKEN_COOKIE = "new-proposal-link"


@office_only
def quote(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    return _quote_page(request, job)


def _quote_page(request: HttpRequest, job: Job, form: SendForm | None = None) -> HttpResponse:
    options = options_of(job)
    firm = the_firm()
    revisions = list(selectors.revisions_of(job))
    newest = revisions[0] if revisions else None
    is_accepted = any(revision.status == Revision.Status.ACCEPTED for revision in revisions)
    has_unpriced = any(option.priced.problems for option in options)
    is_preview = any(option.is_preview for option in options)
    if form is not None and not is_preview:
        form.fields.pop("accept_preview", None)  # the better one came meanwhile
    today = today_in_short(job, firm, options)
    draft = (
        drafts.draft_of(job)
        if is_accepted
        else drafts.first_look(job=job, options=options, today=today, user=request.user)
    )
    initial = {"valid_days": firm.quote_valid_days, "after_number": newest.number if newest else 0}
    return render(
        request,
        "quotes/quote.html",
        {
            "job": job,
            "thread": thread_for(job, current=STEP),
            "options": options,
            "room_rows": rooms_side_by_side(options),
            "gaps": gaps.gaps_of(job, firm, options),
            "revisions": revisions,
            "changes": _changes(newest, today) if newest else None,
            "draft": draft,
            "waiting": None if is_accepted else drafts.changed_since(draft, today),
            "seen": fingerprint(today),
            "newest": newest,
            "vat_basis": selectors.vat_basis_of(job),
            "reminders": reminders_of(newest) if newest else [],
            "questions": selectors.questions_of(job) if newest else [],
            "is_accepted": is_accepted,
            "is_illustrative": any(option.has_illustrative_prices for option in options),
            "form": form or SendForm(initial=initial, has_unpriced=has_unpriced, is_preview=is_preview),
        },
    )


def _changes(newest: Revision, today: dict) -> Differences:
    return differences(selectors.document_of(newest), today)


@office_only
@require_POST
def send(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    form = SendForm(request.POST, has_unpriced=True, is_preview=True)
    if form.is_valid():
        try:
            sent = services.send(job=job, user=request.user, **form.cleaned_data)
        except services.Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            if sent.emailed_to:
                messages.success(
                    request, f"Frozen. The e-mail to {sent.emailed_to} is on its way; see below whether it went."
                )
            else:
                messages.warning(request, "Frozen and ready, but not e-mailed. Give the link to the customer yourself.")
            return _revision_with_link(sent.revision.pk, sent.token)
    return _quote_page(request, job, form)


@office_only
@require_POST
def up_to_date(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    try:
        drafts.bring_up_to_date(job=job, seen=request.POST.get("seen", ""), user=request.user)
    except drafts.Moved:
        messages.error(request, "It changed again in the meantime. Look at what stands here now.")
    else:
        messages.success(request, "The draft is up to date.")
    return redirect("quotes:quote", job.number)


@office_only
@require_http_methods(["GET", "POST"])
def line_new(request: HttpRequest, number: int) -> HttpResponse:
    job = job_for(number)
    form = ExtraLineForm(request.POST or None, request.FILES or None, job=job, firm=the_firm())
    if form.is_valid():
        with edited_by_hand(job=job, user=request.user):
            hand_services.extra_line_save(line=form.save(commit=False), user=request.user, **form.paper_values)
        return redirect("quotes:quote", job.number)
    return render(request, "quotes/line.html", {"job": job, "thread": thread_for(job, current=STEP), "form": form})


@office_only
@require_http_methods(["GET", "POST"])
def line(request: HttpRequest, line_id: int) -> HttpResponse:
    extra = selectors.extra_line_for(line_id)
    job = extra.job
    form = ExtraLineForm(request.POST or None, request.FILES or None, instance=extra, job=job, firm=the_firm())
    if form.is_valid():
        with edited_by_hand(job=job, user=request.user):
            hand_services.extra_line_save(line=form.save(commit=False), user=request.user, **form.paper_values)
        return redirect("quotes:quote", job.number)
    context = {"job": job, "thread": thread_for(job, current=STEP), "form": form, "line": extra}
    return render(request, "quotes/line.html", context)


@office_only
def line_vat_paper(request: HttpRequest, line_id: int) -> HttpResponse:
    extra = selectors.extra_line_for(line_id)
    return file_response(extra.vat_paper, name=extra.vat_paper_name, is_download=True)


@office_only
@require_POST
def line_delete(request: HttpRequest, line_id: int) -> HttpResponse:
    extra = selectors.extra_line_for(line_id)
    with edited_by_hand(job=extra.job, user=request.user):
        hand_services.extra_line_delete(line=extra, user=request.user)
    messages.success(request, f"“{extra.description}” is off the quote.")
    return redirect("quotes:quote", extra.job.number)


@office_only
@never_cache
def revision(request: HttpRequest, revision_id: int) -> HttpResponse:
    found = selectors.revision_for(revision_id)
    decision = getattr(found, "decision", None)
    token = shown_once(request, cookie=TOKEN_COOKIE, about=found.pk)
    response = render(
        request,
        "quotes/revision.html",
        {
            "job": found.job,
            "thread": thread_for(found.job, current=STEP),
            "links": found.links.all(),
            "now": timezone.now(),
            "others": found.job.revisions.exclude(pk=found.pk).defer("document", "internal"),
            "new_address": proposal_address(token) if token else "",
            "internal": found.internal,
            "is_as_frozen": is_as_frozen(found),
            **paper.shown(found, decision),
        },
    )
    if token:
        response.delete_cookie(TOKEN_COOKIE, path=request.path)
    return response


@office_only
def against(request: HttpRequest, revision_id: int, other_id: int) -> HttpResponse:
    """What the second revision says otherwise than the first; both are of one job."""
    first, second = selectors.revision_for(revision_id), selectors.revision_for(other_id)
    if first.job_id != second.job_id:
        raise Http404("These quotes are of different jobs.")
    return render(
        request,
        "quotes/against.html",
        {
            "job": first.job,
            "thread": thread_for(first.job, current=STEP),
            "first": first,
            "second": second,
            "revisions": selectors.revisions_of(first.job),
            "changes": differences(first.document, second.document),
        },
    )


@office_only
def against_draft(request: HttpRequest, revision_id: int) -> HttpResponse:
    """What the quote says today otherwise than a revision that was sent."""
    first = selectors.revision_for(revision_id)
    job = first.job
    changes = differences(first.document, today_in_short(job, the_firm(), options_of(job)))
    context = {"job": job, "thread": thread_for(job, current=STEP), "first": first, "changes": changes}
    return render(request, "quotes/against_draft.html", context | {"revisions": selectors.revisions_of(job)})


@office_only
def revision_pdf(request: HttpRequest, revision_id: int) -> HttpResponse:
    found = selectors.revision_for(revision_id)
    context = paper.shown(found, getattr(found, "decision", None))
    return pdf_response(paper.PDF_TEMPLATE, context, paper.pdf_filename(found))


@office_only
def revision_shown(request: HttpRequest, revision_id: int) -> HttpResponse:
    """All that was shown, as the bytes whose SHA-256 is the hash: anyone can work it out anew from this file."""
    found = selectors.revision_for(revision_id)
    name = f"shown-{found.job.number}-{found.number}.json"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(canonical(found.document), content_type="application/json", headers=headers)


@office_only
@require_POST
def link_new(request: HttpRequest, revision_id: int) -> HttpResponse:
    found = selectors.revision_for(revision_id)
    try:
        token = services.link_new(revision=found, user=request.user)
    except services.Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("quotes:revision", found.pk)
    return _revision_with_link(found.pk, token)


@office_only
@require_POST
def link_revoke(request: HttpRequest, link_id: int) -> HttpResponse:
    link = selectors.link_by_id(link_id)
    services.link_revoke(link=link, user=request.user)
    messages.success(request, "The link opens nothing any more.")
    return redirect("quotes:revision", link.revision_id)


def _revision_with_link(revision_id: int, token: str) -> HttpResponse:
    response = redirect("quotes:revision", revision_id)
    return show_once(response, cookie=TOKEN_COOKIE, about=revision_id, token=token, path=response.url)

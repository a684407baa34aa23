"""Questions about a proposal, and the proposals that the office follows."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_POST

from contractor.accounts.access import office_only
from contractor.common.addresses import client_address
from contractor.jobs.thread import thread_for
from contractor.quotes import asking, selectors
from contractor.quotes.following import reminders_of
from contractor.quotes.forms import AnswerForm
from contractor.quotes.letter_forms import QuestionForm
from contractor.quotes.models import ProposalLink
from contractor.quotes.selectors import Standing
from contractor.quotes.views.proposal import behind_link, letter

PER_PAGE = 50
TOO_MANY = "That is as many questions as we can take here for now. Ring or write to us: we would like to help."


@gzip_page
@csrf_exempt  # as the answers: the secret in the address lets a person ask, no cookie does
@require_POST
@behind_link
def ask(request: HttpRequest, link: ProposalLink, standing: Standing, token: str) -> HttpResponse:
    form = QuestionForm(request.POST)
    if form.is_valid():
        try:
            asking.question_ask(link=link, address=client_address(request), **form.cleaned_data)
        except asking.TooMany:
            form.add_error("text", TOO_MANY)
        else:
            return redirect(reverse("quotes:proposal", args=[token]) + "#questions")
    return letter(request, link, token, question_form=form)


@office_only
def question(request: HttpRequest, question_id: int) -> HttpResponse:
    found = selectors.question_for(question_id)
    form = AnswerForm(request.POST or None)
    if form.is_valid():
        try:
            asking.question_answer(question=found, text=form.cleaned_data["answer"], by=request.user)
        except asking.AlreadyAnswered:
            messages.warning(request, "Somebody else answered first. This is what the customer was told.")
        else:
            messages.success(request, "Answered: it stands in the proposal, and goes by e-mail.")
        return redirect("quotes:question", found.pk)
    job = found.revision.job
    context = {"job": job, "thread": thread_for(job, current="quote"), "question": found, "form": form}
    return render(request, "quotes/question.html", context)


@office_only
@require_GET
def proposals(request: HttpRequest) -> HttpResponse:
    page = Paginator(selectors.proposals_to_follow(), PER_PAGE).get_page(request.GET.get("page"))
    rows = [{"revision": revision, "reminders": reminders_of(revision)} for revision in page]
    return render(request, "quotes/proposals.html", {"page": page, "rows": rows, "query": ""})

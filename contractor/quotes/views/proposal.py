"""The homeowner's side: a letter behind a link, and an answer to it. No account; the token in the address is the key."""

from collections.abc import Callable
from contextlib import suppress
from functools import wraps

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST, require_safe

from contractor.accounts.selectors import the_firm
from contractor.common.addresses import client_address
from contractor.common.links import PRIVATE
from contractor.common.pdf import pdf_response
from contractor.quotes import paper, services
from contractor.quotes.letter_forms import AcceptForm, DeclineForm, QuestionForm
from contractor.quotes.models import ProposalLink
from contractor.quotes.selectors import Standing, link_for, questions_of, standing_of
from contractor.rooms.listening.clips import Heard, room_to_listen_to
from contractor.rooms.listening.responses import clip_response

READABLE = (Standing.OPEN, Standing.ACCEPTED, Standing.DECLINED)
STATUS = {Standing.REVOKED: 410, Standing.EXPIRED: 410, Standing.SUPERSEDED: 200}


def behind_link(view: Callable) -> Callable:
    """Find the link of `token` and give the view (request, link, standing); a link that opens nothing gets its page.

    Everything behind a link carries headers that keep the address from leaking, being kept or being indexed.
    """

    @wraps(view)
    def opened(request: HttpRequest, token: str, **kwargs) -> HttpResponse:
        link = link_for(token)
        standing = standing_of(link) if link else None
        if standing in READABLE:
            response = view(request, link, standing, token=token, **kwargs)
        else:
            context = {"firm": the_firm(), "standing": standing or "unknown", "link": link}
            response = render(request, "quotes/closed.html", context, status=STATUS.get(standing, 404))
        for name, value in PRIVATE.items():
            response.setdefault(name, value)  # a clip may be kept by the listener's own browser
        return response

    return login_not_required(opened)


@gzip_page
@require_safe
@behind_link
def proposal(request: HttpRequest, link: ProposalLink, standing: Standing, token: str) -> HttpResponse:
    if not (request.user.is_authenticated and request.user.works_in_office):
        services.note_opened(link=link)
    return letter(request, link, token)


def letter(
    request: HttpRequest,
    link: ProposalLink,
    token: str,
    accept_form: AcceptForm | None = None,
    decline_form: DeclineForm | None = None,
    question_form: QuestionForm | None = None,
) -> HttpResponse:
    """The page of the proposal, with the forms as they were sent or fresh."""
    revision = link.revision
    context = paper.shown(revision, getattr(revision, "decision", None))
    context |= {
        "token": token,
        "listen_rooms": _to_listen_to(revision.document["options"], token),
        "accept_form": accept_form or AcceptForm(options=context["options"]),
        "decline_form": decline_form or DeclineForm(),
        "question_form": question_form or QuestionForm(),
        "questions": questions_of(revision.job),
    }
    return render(request, "quotes/proposal.html", context)


def _to_listen_to(options: list[dict], token: str) -> list[dict]:
    """Each room for the player, with what every option makes of it."""
    names = dict.fromkeys(room["name"] for option in options for room in option["rooms"])
    rooms = [
        room_to_listen_to(
            name,
            [
                _heard(option, n, room, token, several=len(options) > 1)
                for option in options
                for n, room in enumerate(option["rooms"])
                if room["name"] == name
            ],
        )
        for name in names
    ]
    return [room for room in rooms if room]


def _heard(option: dict, n: int, room: dict, token: str, *, several: bool) -> Heard:
    def address(noise: str, name: str) -> str:
        return reverse("quotes:proposal-listen", args=[token, option["key"], n, noise, name])

    return Heard(
        listen=room.get("listen", []), words=room["words"], address=address, option=option["name"] if several else ""
    )


@require_safe
@behind_link
def proposal_listen(
    request: HttpRequest,
    link: ProposalLink,
    standing: Standing,
    token: str,
    option: str,
    room: int,
    noise: str,
    name: str,
) -> HttpResponse:
    """A sound as the frozen document predicts it."""
    chosen = next((o for o in link.revision.document["options"] if o["key"] == option), None)
    if chosen is None or room >= len(chosen["rooms"]):
        raise Http404("There is no such sound.")
    return clip_response(request, chosen["rooms"][room].get("listen", []), noise, name)


@require_safe
@behind_link
def proposal_pdf(request: HttpRequest, link: ProposalLink, standing: Standing, token: str) -> HttpResponse:
    revision = link.revision
    context = paper.shown(revision, getattr(revision, "decision", None))
    return pdf_response(paper.PDF_TEMPLATE, context, paper.pdf_filename(revision))


# Exempt from the CSRF check: the secret in the address is what lets a person answer, no cookie does, so another site
# has nothing to borrow. The check could not work here either: under no-referrer browsers send "Origin: null".
@gzip_page
@csrf_exempt
@require_POST
@behind_link
def proposal_accept(request: HttpRequest, link: ProposalLink, standing: Standing, token: str) -> HttpResponse:
    options = link.revision.document["options"]
    if "show" in request.POST:
        return letter(request, link, token, accept_form=AcceptForm(initial=_ticked(request), options=options))
    form = AcceptForm(request.POST, options=options)
    if standing == Standing.OPEN and not form.is_valid():
        return letter(request, link, token, accept_form=form)
    if standing == Standing.OPEN:
        values = {name: form.cleaned_data[name] for name in ("typed_name", "agreed_terms", "early_start")}
        chosen = {"option_key": form.option_key, "extra_keys": form.extra_keys}
        _try(services.accept, link=link, **chosen, **values, **whose(request))
    return redirect("quotes:proposal", token)


def _ticked(request: HttpRequest) -> dict:
    """What was filled in so far, for a look at the sum without accepting."""
    return request.POST.dict() | {"extras": request.POST.getlist("extras")}


@gzip_page
@csrf_exempt
@require_POST
@behind_link
def proposal_decline(request: HttpRequest, link: ProposalLink, standing: Standing, token: str) -> HttpResponse:
    form = DeclineForm(request.POST)
    if standing == Standing.OPEN and not form.is_valid():
        return letter(request, link, token, decline_form=form)
    if standing == Standing.OPEN:
        _try(services.decline, link=link, reason=form.cleaned_data["reason"], **whose(request))
    return redirect("quotes:proposal", token)


def _try(answer: Callable, **values) -> None:
    """A proposal that closed in the meantime is shown as it now stands by the page that follows."""
    with suppress(services.NotOpen):
        answer(**values)


def whose(request: HttpRequest) -> dict[str, str]:
    return {"address": client_address(request), "browser": request.headers.get("User-Agent", "")}

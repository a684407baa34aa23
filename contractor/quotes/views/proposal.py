"""The homeowner's side: a letter behind a link, and an answer to it. No account; the token in the address is the key."""

import logging
from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_POST, require_safe

from contractor.accounts.selectors import the_firm
from contractor.common import guesses
from contractor.common.addresses import client_address
from contractor.common.links import PRIVATE
from contractor.common.pdf import pdf_response
from contractor.quotes import paper, services
from contractor.quotes.document import is_as_frozen
from contractor.quotes.letter_forms import AcceptForm, DeclineForm, QuestionForm
from contractor.quotes.models import ProposalLink
from contractor.quotes.selectors import Standing, link_for, questions_of, standing_of
from contractor.rooms.listening.clips import Heard, room_to_listen_to
from contractor.rooms.listening.responses import clip_response

log = logging.getLogger(__name__)
READABLE = (Standing.OPEN, Standing.ACCEPTED, Standing.DECLINED)
TAMPERED = "tampered"  # the document is not the one that was sent: nobody reads or answers it
UNKNOWN, GUESSED = "unknown", "guessed"  # no link of ours; too many such from where this one comes
STATUS = {Standing.REVOKED: 410, Standing.EXPIRED: 410, Standing.SUPERSEDED: 200, TAMPERED: 409, GUESSED: 429}


def behind_link(view: Callable) -> Callable:
    """Find the link of `token` and give the view (request, link, standing); a link that opens nothing gets its page.

    Everything behind a link carries headers that keep the address from leaking, being kept or being indexed.
    """

    @wraps(view)
    def opened(request: HttpRequest, token: str, **kwargs) -> HttpResponse:
        if link := link_for(token):
            standing = standing_of(link)
        else:
            standing = GUESSED if guesses.are_too_many(request) else UNKNOWN
            guesses.note_wrong(request)
        if standing in READABLE and not is_as_frozen(link.revision):
            log.error("%s is not the document that was frozen; its hash does not match.", link.revision)
            standing = TAMPERED
        if standing in READABLE:
            response = view(request, link, standing, token=token, **kwargs)
        else:
            context = {"firm": the_firm(), "standing": standing, "link": link}
            context["is_late"] = request.method == "POST" or "late" in request.GET
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
        "is_late": "late" in request.GET,
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
    if not form.is_valid():
        return letter(request, link, token, accept_form=form) if standing == Standing.OPEN else _too_late(token)
    values = {name: form.cleaned_data[name] for name in ("typed_name", "agreed_terms", "early_start")}
    chosen = {"option_key": form.option_key, "extra_keys": form.extra_keys}
    return _answer(request, link, token, services.accept, **chosen, **values)


def _ticked(request: HttpRequest) -> dict:
    """What was filled in so far, for a look at the sum without accepting."""
    return request.POST.dict() | {"extras": request.POST.getlist("extras")}


@gzip_page
@csrf_exempt
@require_POST
@behind_link
def proposal_decline(request: HttpRequest, link: ProposalLink, standing: Standing, token: str) -> HttpResponse:
    form = DeclineForm(request.POST)
    if not form.is_valid():
        return letter(request, link, token, decline_form=form) if standing == Standing.OPEN else _too_late(token)
    return _answer(request, link, token, services.decline, reason=form.cleaned_data["reason"])


def _answer(request: HttpRequest, link: ProposalLink, token: str, answer: Callable, **values) -> HttpResponse:
    """Answer, and on to the page as it now stands. Who comes too late is told so there, but not who tapped twice."""
    try:
        answer(link=link, **values, **whose(request))
    except services.NotOpen as closed:
        if not closed.is_repeat:
            return _too_late(token)
    return redirect("quotes:proposal", token)


def _too_late(token: str) -> HttpResponse:
    return redirect(reverse("quotes:proposal", args=[token]) + "?late")


def whose(request: HttpRequest) -> dict[str, str]:
    return {"address": client_address(request), "browser": request.headers.get("User-Agent", "")}

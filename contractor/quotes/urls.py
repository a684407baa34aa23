from django.urls import path

from contractor.quotes.views import by_hand, office, proposal, questions

app_name = "quotes"
urlpatterns = [
    path("jobs/<int:number>/quote/", office.quote, name="quote"),
    path("jobs/<int:number>/quote/send/", office.send, name="send"),
    path("jobs/<int:number>/quote/up-to-date/", office.up_to_date, name="up-to-date"),
    path("jobs/<int:number>/quote/lines/new/", office.line_new, name="line-new"),
    path("quote-lines/<int:line_id>/", office.line, name="line"),
    path("quote-lines/<int:line_id>/vat-paper/", office.line_vat_paper, name="line-vat-paper"),
    path("quote-lines/<int:line_id>/delete/", office.line_delete, name="line-delete"),
    path(
        "jobs/<int:number>/quote/options/<int:scheme_id>/lines/<slug:line_key>/",
        by_hand.line_override,
        name="line-override",
    ),
    path("line-overrides/<int:override_id>/take-back/", by_hand.override_take_back, name="override-take-back"),
    path("jobs/<int:number>/quote/discounts/new/", by_hand.discount_new, name="discount-new"),
    path("quote-discounts/<int:discount_id>/", by_hand.discount, name="discount"),
    path("quote-discounts/<int:discount_id>/delete/", by_hand.discount_delete, name="discount-delete"),
    path("jobs/<int:number>/quote/vat/", by_hand.vat, name="vat"),
    path("jobs/<int:number>/quote/vat/paper/", by_hand.vat_paper, name="vat-paper"),
    path("revisions/<int:revision_id>/against/<int:other_id>/", office.against, name="against"),
    path("revisions/<int:revision_id>/against-draft/", office.against_draft, name="against-draft"),
    path("revisions/<int:revision_id>/", office.revision, name="revision"),
    path("revisions/<int:revision_id>/proposal.pdf", office.revision_pdf, name="revision-pdf"),
    path("revisions/<int:revision_id>/shown.json", office.revision_shown, name="revision-shown"),
    path("revisions/<int:revision_id>/links/new/", office.link_new, name="link-new"),
    path("proposal-links/<int:link_id>/revoke/", office.link_revoke, name="link-revoke"),
    path("proposals/", questions.proposals, name="proposals"),
    path("questions/<int:question_id>/", questions.question, name="question"),
    # Public: whoever holds the token.
    path("p/<str:token>/", proposal.proposal, name="proposal"),
    path("p/<str:token>/proposal.pdf", proposal.proposal_pdf, name="proposal-pdf"),
    path(
        "p/<str:token>/listen/<slug:option>/<int:room>/<slug:noise>/<slug:name>.wav",
        proposal.proposal_listen,
        name="proposal-listen",
    ),
    path("p/<str:token>/ask/", questions.ask, name="proposal-ask"),
    path("p/<str:token>/accept/", proposal.proposal_accept, name="proposal-accept"),
    path("p/<str:token>/decline/", proposal.proposal_decline, name="proposal-decline"),
]

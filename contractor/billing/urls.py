from django.urls import path, re_path

from contractor.billing.views import letter, office

app_name = "billing"
urlpatterns = [
    path("jobs/<int:number>/money/", office.money, name="money"),
    path("jobs/<int:number>/money/stages/", office.stages, name="stages"),
    path("jobs/<int:number>/money/invoice/", office.invoice_next, name="invoice-next"),
    path("jobs/<int:number>/variations/new/", office.variation_new, name="variation-new"),
    path("variations/<int:variation_id>/", office.variation, name="variation"),
    path("variations/<int:variation_id>/edit/", office.variation_edit, name="variation-edit"),
    path("variations/<int:variation_id>/send/", office.variation_send, name="variation-send"),
    path("variations/<int:variation_id>/withdraw/", office.variation_withdraw, name="variation-withdraw"),
    path("variations/<int:variation_id>/lines/new/", office.line, name="line-new"),
    path("variations/<int:variation_id>/lines/<int:line_id>/", office.line, name="line"),
    path("variations/<int:variation_id>/lines/<int:line_id>/delete/", office.line_delete, name="line-delete"),
    path("invoices/<int:invoice_id>/", office.invoice, name="invoice"),
    path("invoices/<int:invoice_id>/invoice.pdf", office.invoice_pdf, name="invoice-pdf"),
    path("invoices/<int:invoice_id>/send/", office.invoice_send, name="invoice-send"),
    path("invoices/<int:invoice_id>/credit/", office.invoice_credit, name="invoice-credit"),
    path("payments/<int:payment_id>/delete/", office.payment_delete, name="payment-delete"),
    path("books/", office.books, name="books"),
    re_path(r"^books/(?P<what>invoices|payments)\.csv$", office.table, name="table"),
    path("v/<str:token>/", letter.letter, name="letter"),
    path("v/<str:token>/variation.pdf", letter.pdf, name="letter-pdf"),
    path("v/<str:token>/approve/", letter.approve, name="approve"),
    path("v/<str:token>/decline/", letter.decline, name="decline"),
]

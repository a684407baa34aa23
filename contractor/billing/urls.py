from django.urls import path, re_path

from contractor.billing.views import books, invoices, letter, office

app_name = "billing"
urlpatterns = [
    path("jobs/<int:number>/money/", office.money, name="money"),
    path("jobs/<int:number>/money/stages/", office.stages, name="stages"),
    path("jobs/<int:number>/money/invoice/", office.invoice_next, name="invoice-next"),
    path("jobs/<int:number>/money/statement.pdf", office.statement_pdf, name="statement-pdf"),
    path("jobs/<int:number>/money/statement/send/", office.statement_send, name="statement-send"),
    path("jobs/<int:number>/variations/new/", office.variation_new, name="variation-new"),
    path("variations/<int:variation_id>/", office.variation, name="variation"),
    path("variations/<int:variation_id>/variation.pdf", office.variation_pdf, name="variation-pdf"),
    path("variations/<int:variation_id>/edit/", office.variation_edit, name="variation-edit"),
    path("variations/<int:variation_id>/send/", office.variation_send, name="variation-send"),
    path("variations/<int:variation_id>/withdraw/", office.variation_withdraw, name="variation-withdraw"),
    path("variations/<int:variation_id>/lines/new/", office.line, name="line-new"),
    path("variations/<int:variation_id>/lines/<int:line_id>/", office.line, name="line"),
    path("variations/<int:variation_id>/lines/<int:line_id>/delete/", office.line_delete, name="line-delete"),
    path("invoices/<int:invoice_id>/", invoices.invoice, name="invoice"),
    path("invoices/<int:invoice_id>/invoice.pdf", invoices.invoice_pdf, name="invoice-pdf"),
    path("invoices/<int:invoice_id>/send/", invoices.invoice_send, name="invoice-send"),
    path("invoices/<int:invoice_id>/credit/", invoices.invoice_credit, name="invoice-credit"),
    path("invoices/<int:invoice_id>/back/", invoices.payment_back, name="payment-back"),
    path("invoices/<int:invoice_id>/set-off/", invoices.set_off, name="set-off"),
    path("payments/<int:payment_id>/take-back/", invoices.payment_take_back, name="payment-take-back"),
    path("books/", books.books, name="books"),
    path("books/settings/", books.billing_settings, name="settings"),
    re_path(r"^books/(?P<what>invoices|payments)\.csv$", books.table, name="table"),
    path("v/<str:token>/", letter.letter, name="letter"),
    path("v/<str:token>/variation.pdf", letter.pdf, name="letter-pdf"),
    path("v/<str:token>/photos/<uuid:key>/", letter.photo, name="letter-photo"),
    path("v/<str:token>/approve/", letter.approve, name="approve"),
    path("v/<str:token>/decline/", letter.decline, name="decline"),
]

from django.apps import AppConfig


class BillingConfig(AppConfig):
    name = "contractor.billing"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from contractor.billing import post  # models are not loaded before this
        from contractor.billing.acting import add_acts
        from contractor.billing.steps import add_steps
        from contractor.mail.posting import add_attachment_maker

        add_attachment_maker(post.INVOICE_PDF, post.invoice_attachment)
        add_attachment_maker(post.STATEMENT_PDF, post.statement_attachment)
        add_acts()
        add_steps()

from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "contractor.quotes"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.mail.posting import add_attachment_maker
        from contractor.quotes.mail import ACCEPTED_COPY, accepted_copy
        from contractor.quotes.steps import add_steps  # models are not loaded before this

        add_steps()
        add_attachment_maker(ACCEPTED_COPY, accepted_copy)

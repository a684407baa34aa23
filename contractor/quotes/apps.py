from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "contractor.quotes"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.quotes.steps import add_steps  # models are not loaded before this

        add_steps()

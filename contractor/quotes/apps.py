from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "contractor.quotes"
    default_auto_field = "django.db.models.BigAutoField"

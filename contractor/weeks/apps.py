from django.apps import AppConfig


class WeeksConfig(AppConfig):
    name = "contractor.weeks"
    default_auto_field = "django.db.models.BigAutoField"

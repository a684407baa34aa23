from django.apps import AppConfig


class FittingConfig(AppConfig):
    name = "contractor.fitting"
    default_auto_field = "django.db.models.BigAutoField"

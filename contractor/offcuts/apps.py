from django.apps import AppConfig


class OffcutsConfig(AppConfig):
    name = "contractor.offcuts"
    default_auto_field = "django.db.models.BigAutoField"

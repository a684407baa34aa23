from django.apps import AppConfig


class MailConfig(AppConfig):
    name = "contractor.mail"
    default_auto_field = "django.db.models.BigAutoField"

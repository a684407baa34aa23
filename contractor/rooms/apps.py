from django.apps import AppConfig


class RoomsConfig(AppConfig):
    name = "contractor.rooms"
    default_auto_field = "django.db.models.BigAutoField"

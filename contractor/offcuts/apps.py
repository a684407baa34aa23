from django.apps import AppConfig


class OffcutsConfig(AppConfig):
    name = "contractor.offcuts"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from contractor.offcuts import listeners  # noqa: F401  (connects its receiver)

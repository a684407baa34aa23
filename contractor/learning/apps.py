from django.apps import AppConfig


class LearningConfig(AppConfig):
    name = "contractor.learning"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        from contractor.learning import listeners  # noqa: F401  (connects them)
